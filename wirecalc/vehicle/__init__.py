"""A whole vehicle: its plan from a file, solved as one network, sizes chosen, cables filled, wire bought."""
