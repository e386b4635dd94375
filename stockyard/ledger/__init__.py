"""Movements of stock and value, and what their sums say: what is on hand, what it is worth, on any date."""
