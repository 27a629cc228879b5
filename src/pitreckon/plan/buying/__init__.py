"""How much to buy: portions, yields, the shopping list."""
