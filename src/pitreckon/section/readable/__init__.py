"""The readable twin of the kernel, in NumPy."""
