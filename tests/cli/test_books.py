import contextlib
import sqlite3
from pathlib import Path

from tests.cli.command import stockyard
from tests.cli.test_commands import db  # noqa: F401  the yard with one delivery


def test_books_that_add_up_end_with_nothing_and_others_with_three_and_each_disagreement(db: Path) -> None:  # noqa: F811
    sound = stockyard("--db", db, "books", "check").out
    assert "1 movements, 5 pieces, 0 disagreements." in sound
    assert [line for line in sound.splitlines() if len(line.rstrip()) > 80] == []
    with contextlib.closing(sqlite3.connect(db)) as connection, connection:
        connection.execute("UPDATE piece SET value = value + 1000 WHERE number IN ('SG-0001', 'BB-0002')")

    told = stockyard("--db", db, "books", "check", code=3).out

    assert "SG-0001" in told
    assert "BB-0002" in told
    assert [line for line in told.splitlines() if len(line.rstrip()) > 80] == []
    proofs = stockyard("--db", db, "books", "check", "--json", code=3).json["proofs"]
    assert {each["where"] for proof in proofs for each in proof["against"]} == {"SG-0001", "BB-0002", "stock"}


def test_a_yard_is_backed_up_and_restored_elsewhere(db: Path, tmp_path: Path) -> None:  # noqa: F811
    copy, new = tmp_path / "copy.db", tmp_path / "new.db"
    assert "whole" in stockyard("--db", db, "backup", copy).out
    stockyard("--db", db, "backup", copy, code=2)

    assert str(new) in stockyard("restore", copy, "--db", new).out

    assert stockyard("--db", new, "boards", "--json").json == stockyard("--db", db, "boards", "--json").json
    stockyard("--db", new, "books", "check")


def test_the_policy_is_shown_with_its_history_and_changed_for_days_to_come(db: Path) -> None:  # noqa: F811
    assert "by its volume" in stockyard("--db", db, "books", "policy").out
    changed = stockyard("--db", db, "books", "policy", "by_product", "--from", "2999-07-01").out
    assert "shared by volume" in changed
    assert "2999-07-01" in changed
    assert [line for line in changed.splitlines() if len(line.rstrip()) > 80] == []
    assert stockyard("--db", db, "books", "policy", "--json").json["entries"][0]["policy"] == "by_product"
    stockyard("--db", db, "books", "policy", "by_weight", code=2)
    stockyard("--db", db, "books", "policy", "--from", "2999-07-01", code=2)
