"""What went wrong: a report of a reader, the likely causes, and one change to try."""
