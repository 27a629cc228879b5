"""What readers of a card send back: read, weighed, and what it teaches the card."""
