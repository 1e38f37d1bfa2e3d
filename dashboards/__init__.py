"""The pages: one notebook each, and the panels they show."""
