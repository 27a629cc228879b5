"""The readable twin of the compiled kernel, in NumPy: its oracle, and the place to read what it does."""
