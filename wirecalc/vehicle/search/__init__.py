"""Sizes and fuses for the shared supply of a vehicle at the least cost: what there is to choose, and the search."""
