"""The page Whole vehicle and its parts."""
