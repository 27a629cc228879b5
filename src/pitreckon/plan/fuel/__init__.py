"""How much fuel, and when it is fed."""
