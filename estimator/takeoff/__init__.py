"""What to buy: every part with its quantity and the objects it came from."""
