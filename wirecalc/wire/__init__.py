"""A conductor and what it lies in: resistance, heat, fuse, cables of several conductors, packing."""
