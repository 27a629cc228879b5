"""Official rules over the temperature history of each piece, and models that advise beside them."""
