"""The live page: one server, one ledger, and a phone that says what to do next."""
