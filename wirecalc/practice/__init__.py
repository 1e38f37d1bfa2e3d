"""Practice problems with fresh numbers, their marking, and what one person has done."""
