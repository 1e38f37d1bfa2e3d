"""One circuit: source, wire and load, and every measure of it; limits that choose a size."""
