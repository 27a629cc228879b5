"""A batch that is sold in jars: weighed, filled, priced, labelled, and recorded by its lots."""
