from decimal import Decimal

import pytest
from sqlalchemy import text

from stockyard.records import Yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.check_books import check_books
from stockyard.services.dispose_board import dispose_board
from stockyard.services.write_down_board import write_down_board
from tests.services.test_allocate_plan import planned
from tests.services.yards import SPOTTED_GUM, receive


def meddle(yard: Yard, *statements: str) -> None:
    """Change the tables as no programme may: past the triggers and the references."""
    server = yard.engine.dialect.name == "postgresql"
    with yard.engine.connect() as connection:
        if not server:
            connection.exec_driver_sql("ROLLBACK")
            connection.exec_driver_sql("PRAGMA foreign_keys = OFF")
            connection.exec_driver_sql("BEGIN IMMEDIATE")
            for table in ("movement_line", "delivery"):
                connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {table}_no_update")
        for table in ("movement_line", "delivery") if server else ():
            connection.execute(text(f"ALTER TABLE {table} DISABLE TRIGGER ALL"))
        for statement in statements:
            connection.execute(text(statement))
        connection.commit()


def test_the_books_of_a_yard_at_work_are_proved(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM, SPOTTED_GUM)
    dispose_board(yard.open_work, "SG-0001", reason="borers")
    write_down_board(yard.open_work, "SG-0002", to=Decimal("40.00"), reason="sappy")

    found = check_books(yard.open_work)

    assert found.disagreements == ()
    assert (found.movements, found.pieces, len(found.proofs)) == (3, 2, 10)


def test_an_empty_yard_is_proved(yard: Yard) -> None:
    assert check_books(yard.open_work).disagreements == ()


@pytest.mark.parametrize(
    ("statement", "where"),
    [
        ("UPDATE movement_line SET value = value + 1000 WHERE account = 'suppliers'",
         {"movement 1", "stock", "docket 1 of Riverbend Mill"}),
        ("UPDATE piece SET value = value + 10 WHERE number = 'SG-0002'", {"SG-0002", "stock"}),
        ("UPDATE piece SET volume_mm3 = 5 WHERE number = 'SG-0001'", {"SG-0001"}),
        ("UPDATE delivery SET total = total - 30", {"docket 1 of Riverbend Mill"}),
        ("UPDATE movement_line SET account = 'petty cash' WHERE account = 'losses'", {"account petty cash"}),
    ],
)  # fmt: skip
def test_whatever_was_changed_behind_the_books_is_named(yard: Yard, statement: str, where: set[str]) -> None:
    receive(yard, SPOTTED_GUM, SPOTTED_GUM)
    dispose_board(yard.open_work, "SG-0001", reason="borers")

    meddle(yard, statement)

    assert {each.where for each in check_books(yard.open_work).disagreements} == where


def test_a_promise_to_a_plan_that_is_not_allocated_is_named(yard: Yard) -> None:
    plan, boards = planned(yard)
    allocate_plan(yard.open_work, plan)
    before = {each.where for each in check_books(yard.open_work).disagreements}

    meddle(yard, "UPDATE plan SET status = 'released'")

    after = {each.where for each in check_books(yard.open_work).disagreements}
    assert (before, after) == (set(), set(boards))


def test_a_damaged_file_is_told(sqlite_yard: Yard) -> None:
    receive(sqlite_yard, SPOTTED_GUM)

    meddle(sqlite_yard, "UPDATE piece SET species_id = 99")

    (found,) = check_books(sqlite_yard.open_work).disagreements
    assert "piece" in found.where
    assert found.shown == "a species"
