import pytest

from stockyard.cli import global_options_first


@pytest.mark.parametrize(
    ("given", "read"),
    [
        (["boards", "--json"], ["--json", "boards"]),
        (
            ["boards", "--db", "yard.db", "--species", "jarrah"],
            ["--db", "yard.db", "boards", "--species", "jarrah"],
        ),
        (["--db=yard.db", "boards"], ["--db=yard.db", "boards"]),
        (["receive", "--", "--json"], ["receive", "--", "--json"]),
        (["boards", "--db"], ["--db", "boards"]),
    ],
)
def test_global_options_may_stand_anywhere(given: list[str], read: list[str]) -> None:
    assert global_options_first(given) == read
