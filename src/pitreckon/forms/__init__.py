"""What people type: text, TOML with its lines, fields, names; each fault with line and remedy."""
