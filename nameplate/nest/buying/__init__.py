"""What to buy: the cheapest mix of sheets, its bounds, spares and figures."""
