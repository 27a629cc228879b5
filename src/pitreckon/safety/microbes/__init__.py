"""Models of killing and growth, which advise beside the rules."""
