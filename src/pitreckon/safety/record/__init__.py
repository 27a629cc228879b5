"""The safety record: what it holds, its words, its JSON."""
