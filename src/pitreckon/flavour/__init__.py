"""Flavour that scales: mixes in weights and spoons, what they taste of, what heat does to them, and labels."""
