"""Movements of stock and value, and what follows from adding them up: what is on hand, what it is worth, on any date."""
