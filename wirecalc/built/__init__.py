"""A plan as it was built: what a meter should read in each circuit, what was read, what is off and why."""
