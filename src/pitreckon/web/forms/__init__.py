"""What a browser sends, made into records."""
