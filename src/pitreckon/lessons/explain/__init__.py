"""The story of a finished cook for people who learn: inside the piece over time, and what if it was otherwise."""
