from pathlib import Path

from stockyard.cli.listing import COMMANDS
from tests.cli.command import stockyard
from tests.cli.write_listing import listing


def test_the_listing_names_every_command_there_is() -> None:
    """`python -m tests.cli.write_listing` writes it anew."""
    assert listing() == COMMANDS


def test_the_help_lists_them_without_loading_any() -> None:
    told = stockyard("--help").out
    assert all(f"  {name} " in told for name, *_ in COMMANDS)
    assert "Example: stockyard demo" in told
    assert max(map(len, told.splitlines())) <= 80


def test_a_command_that_is_none_is_refused_with_what_there_is(tmp_path: Path) -> None:
    assert "No such command" in stockyard("--db", tmp_path / "yard.db", "bords", code=2).err
    assert "No such command" in stockyard("job", "paint", code=2).err
