"""Planning the day: what to buy, what to do before the fire, fuel, room on the pits, and when what goes on."""
