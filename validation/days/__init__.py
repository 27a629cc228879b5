"""Twenty invented days of rising difficulty, each planned, explained where it cannot be, and lived through."""
