"""Lengths, volumes, trade units, money and colour difference: parse, convert, show.

Knows numbers and their units; knows nothing of boards. Everything inside Stockyard is in millimetres and
exact Decimal money; the outside's units are turned into those here, and nowhere else.
"""
