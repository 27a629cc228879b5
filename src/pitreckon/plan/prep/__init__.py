"""What comes before the fire: thawing, salting, chores and the hands for them."""
