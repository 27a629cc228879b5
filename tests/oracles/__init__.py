"""Published laws as their papers have them, which only check: each says whose oracle it is."""
