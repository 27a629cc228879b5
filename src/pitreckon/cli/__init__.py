"""The command line: commands, the screen, the JSON object, the demo."""
