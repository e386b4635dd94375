"""Writes stockyard/cli/listing.py from the commands there are.

python -m tests.cli.write_listing
"""

import json
from pathlib import Path
from typing import Any

import typer

from stockyard.cli.commands import ROOMS, with_every_command

Listed = tuple[str, str, tuple[str, ...], tuple[str, ...]]
"""A command's name, what it does, the rooms it lives in, and the commands below it."""

TARGET = Path(__file__).parents[2] / "stockyard" / "cli" / "listing.py"


def listing() -> tuple[Listed, ...]:
    """Every command as the help lists it."""
    group: Any = typer.main.get_command(with_every_command())
    found: list[Listed] = []
    for name, command in group.commands.items():
        inner = getattr(command, "commands", {})
        rooms = _rooms(command)
        told = command.short_help or (command.help or "").partition("\n\n")[0]
        ordered = tuple(room for room in ROOMS if room in rooms)
        found.append((name, " ".join(told.split()), ordered, tuple(inner)))
    return tuple(found)


def _rooms(command: Any) -> set[str]:
    inner = getattr(command, "commands", {})
    if inner:
        return {room for each in inner.values() for room in _rooms(each)}
    return {str(command.callback.__wrapped__.__module__).rpartition(".")[2]}


def written(commands: tuple[Listed, ...]) -> str:
    """The module that holds them."""
    lines = [
        '"""What the help lists of every command, so that none is loaded for it.',
        "",
        "Written by `python -m tests.cli.write_listing`: name, what it does, its rooms, commands below it.",
        '"""',
        "",
        "COMMANDS: tuple[tuple[str, str, tuple[str, ...], tuple[str, ...]], ...] = (",
    ]
    for name, told, rooms, inner in commands:
        lines += ["    (", f"        {_text(name)},", f"        {_text(told)},"]
        lines += [f"        {_words(rooms)},", f"        {_words(inner)},", "    ),"]
    return "\n".join([*lines, ")"]) + "\n"


def _text(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _words(words: tuple[str, ...]) -> str:
    """One word beside the other, or several below each other, as the formatter leaves them."""
    if len(words) < 2:
        return f"({_text(words[0])},)" if words else "()"
    return "\n".join(["(", *(f"            {_text(word)}," for word in words), "        )"])


if __name__ == "__main__":
    TARGET.write_text(written(listing()), encoding="utf-8")
