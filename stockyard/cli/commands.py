"""Every command, in the order in which the help lists them, loaded only where it is asked for."""

from collections.abc import Sequence
from copy import copy
from importlib import import_module

import typer

from stockyard.cli.app import app
from stockyard.cli.listing import COMMANDS

__all__ = ["ROOMS", "app", "asked_for", "with_every_command"]

ROOMS = (
    "yard",
    "receive",
    "boards",
    "defects",
    "moisture",
    "photo",
    "suggestions",
    "lessons",
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
    "doctor",
)
"""The modules that commands live in."""


def with_every_command() -> typer.Typer:
    """The app with all its commands loaded."""
    for room in ROOMS:
        import_module(f"stockyard.cli.{room}")
    return app


def asked_for(arguments: Sequence[str]) -> typer.Typer:
    """The app with what a command line asks for: the rooms of its command, or only names and what they do.

    arguments: global options first. Whatever the listing does not know is looked for in every room.
    """
    words = [word for word in arguments if not word.startswith("-")]
    if "--db" in arguments[:3] and words:
        words = words[1:]  # what stands after --db
    if not words:
        return _listed()
    for name, _, rooms, inner in COMMANDS:
        if name == words[0] and (not inner or len(words) < 2 or words[1] in inner):
            for room in rooms:
                import_module(f"stockyard.cli.{room}")
            return app
    return with_every_command()


def _listed() -> typer.Typer:
    """An app that can only list its commands."""
    listing = copy(app)
    listing.registered_commands, listing.registered_groups = [], []
    for name, told, _, _ in COMMANDS:
        listing.command(name, short_help=told)(_nothing)
    return listing


def _nothing() -> None:
    """Stands for a command in a list."""
