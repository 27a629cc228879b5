"""Text: out of a file, TOML with its lines, words compared; for the catalog and for all that people type."""
