"""The hand-written log: a CSV file of readings, looks and acts, read and written."""
