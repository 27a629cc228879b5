"""Keeping a ledger whole: looking it over, copying it while it is in use, putting a copy back, saving what is left."""
