"""What stands on a sheet."""
