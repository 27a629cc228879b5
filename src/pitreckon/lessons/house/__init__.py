"""What a house has learned of its pits and its meat: kept in a file, told in a cook's words."""
