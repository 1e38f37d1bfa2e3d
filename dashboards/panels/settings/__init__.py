"""What a person sets for every page, kept by their browser, and how it is edited."""
