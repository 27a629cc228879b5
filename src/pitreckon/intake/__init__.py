"""What comes in by itself: readings by HTTP, from a broker and from tables, each judged before it is kept."""
