"""What a mix tastes of: salt, sweetness, heat, targets."""
