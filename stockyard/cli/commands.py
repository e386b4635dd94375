"""Every command, gathered in the order in which the help lists them."""

from importlib import import_module

from stockyard.cli.app import app

__all__ = ["app"]

for _room in (
    "yard",
    "receive",
    "boards",
    "defects",
    "moisture",
    "photo",
    "suggestions",
    "climate",
    "wood",
    "species",
    "grade",
    "jobs",
    "select",
    "why",
    "plans",
    "again",
    "buy",
    "bench",
    "prep",
    "sheet",
    "stock",
    "stocktake",
    "books",
    "supplies",
    "accounts",
    "buying",
    "origin",
    "report",
    "serve",
):
    import_module(f"stockyard.cli.{_room}")
