"""One file a published experiment, named after its paper."""
