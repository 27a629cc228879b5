"""Who may come in: accounts, sessions, secrets, limits."""
