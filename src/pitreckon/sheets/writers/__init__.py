"""How a sheet is written: text, Markdown, HTML, PDF, calendar, JSON-LD."""
