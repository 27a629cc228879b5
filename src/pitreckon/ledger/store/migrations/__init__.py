"""The states of a store, and the steps from one to the next."""
