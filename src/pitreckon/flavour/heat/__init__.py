"""What fire does to a mix: scorching, dripping, what stays on the meat."""
