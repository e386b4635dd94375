from importlib.resources import files

import pytest

from stockyard.tally.mending import cells_of, mended


@pytest.mark.parametrize("name", ["quandong-siding-20418.csv", "nine-mile-lot-58.xlsx"])
def test_mending_nothing_but_one_cell_leaves_every_other_cell_where_it_was(name: str) -> None:
    content = files("stockyard.services.demo_yard").joinpath("tallies", name).read_bytes()
    cells = cells_of(content, name)
    row, said = cells.rows[-1]
    again = cells_of(mended(cells, {(row, 0): "changed"}), "mended.csv")
    before = {at: [" ".join(cell.split()) for cell in texts] for at, texts in cells.rows if any(texts)}
    after = {at: list(texts) for at, texts in again.rows if any(texts)}
    assert after.pop(row) == ["changed", *before.pop(row)[1:]]
    assert after == before
    assert said


def test_rows_keep_their_numbers_over_gaps_and_longer_records() -> None:
    text = 'Riverbend Mill\n\nSpecies,Length (mm),Note\n\njarrah,2400,"two\nlines"\njarrah,?,plain\n'
    cells = cells_of(text.encode(), "tally.csv")
    numbers = [row for row, said in cells.rows if any(said)]
    assert numbers == [1, 3, 5, 7]

    again = cells_of(mended(cells, {(7, 1): "1800"}), "tally.csv")

    assert [row for row, said in again.rows if any(said)] == numbers
    assert dict(again.rows)[7] == ("jarrah", "1800", "plain")
    assert dict(again.rows)[5] == ("jarrah", "2400", "two lines")


def test_a_cell_beyond_the_end_of_its_row_is_added() -> None:
    cells = cells_of(b"Species,Length (mm),Qty\njarrah,2400\n", "tally.csv")
    again = cells_of(mended(cells, {(2, 2): "3"}), "tally.csv")
    assert dict(again.rows)[2] == ("jarrah", "2400", "3")
