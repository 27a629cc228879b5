"""This time against last time: two cooks of a cut beside each other, and what their differences were worth."""
