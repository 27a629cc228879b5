"""From a finished cook to a recipe that others can repeat, and from a reader's trouble to its likeliest causes."""
