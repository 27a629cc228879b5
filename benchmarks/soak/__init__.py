"""What is run for long: inputs of every form, calls of every operation, a house under load."""
