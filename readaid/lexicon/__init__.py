"""The dictionary, the lattice built from what was read, and the exact search over it."""
