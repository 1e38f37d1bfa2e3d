"""Where a number comes from: its formula, the values put in, and the source of each."""
