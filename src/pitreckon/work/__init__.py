"""Work that is handed to others: processes of this machine, or a cluster by its address, by the standard executor."""
