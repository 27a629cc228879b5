"""A mix by weight: batch, scale, what is bought."""
