"""The page At the bench and its parts."""
