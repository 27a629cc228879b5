"""What the ledger knows of the temperature of a piece over time."""
