"""Twin readers: people with true pits and true meat of their own who follow a card, one visit at a time."""
