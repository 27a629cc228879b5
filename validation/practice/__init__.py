"""The trade's own timings as a table, dealt into halves, run against the model, and what is fitted on them.

``table`` reads the rows, ``deal`` deals them, ``adapter`` cooks a set-up in the model as it is today, ``measure`` takes
a row's number from a cook, ``score`` compares. ``python -m validation.practice`` runs all rows;
``python -m validation.practice.calibrate`` fits the constants on the fit half.
"""
