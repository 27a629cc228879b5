"""A photograph as a measurement: taken apart in a child with limits, read against its white, told as a step."""
