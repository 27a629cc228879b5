"""Rubs, wraps, glazes and sauces by weight: how sweet, salty and hot, what heat does to them, what a label says."""
