"""The key of a house: made once, kept in its ledger, and never shown; what is shown is the public half."""

from typing import Final

from pitreckon.ledger.store import Store, accounts
from pitreckon.safety.record.sign import new_key

NAME: Final = "house key"


def house_key(store: Store) -> str:
    """The private key of the house whose ledger this is, in hex; made the first time. Raises StoreError."""
    return str(accounts.made_setting(store, NAME, new_key))
