"""The page House rules."""
