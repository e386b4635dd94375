from dataclasses import replace

import pytest

from stockyard.errors import BadInput
from stockyard.records import Yard
from stockyard.services.count_panels import count_from, count_panels
from stockyard.services.read_moisture import add_reading
from stockyard.timber import Panel, Stock
from tests.builders import a_board, a_job, a_panel
from tests.services.yards import receive

SHELF = a_panel(length_mm=1000, width_mm=180, thickness_mm=22, staves_min=1, staves_max=1,
                stave_width_min_mm=180, stave_width_max_mm=180)  # fmt: skip


def boards(*sizes: tuple[float, float]) -> Stock:
    return Stock(
        tuple(
            replace(a_board(), id=f"SG-{n:04}", length_mm=length, width_mm=width, thickness_mm=26.0)
            for n, (length, width) in enumerate(sizes, 1)
        )
    )


def test_shelves_of_one_stave_are_counted_board_by_board() -> None:
    """Rough, a shelf is 1020 x 190 mm: two along 2400 mm less 20 mm at each end, one along 1100 mm of 300 mm,
    none on a board of 185 mm or of 900 mm.
    """
    stock = boards((2400, 200), (1100, 300), (2400, 185), (900, 400))

    told = count_from(stock, a_job(SHELF), seconds=20)

    assert told.made == 3
    assert told.boards == 2
    assert told.by_species == ((SHELF.species[0], 3),)
    assert told.usable_mm3 == 3 * 1000 * 180 * 22
    assert told.made <= told.at_most


def test_a_bound_that_is_met_is_told_as_exact() -> None:
    told = count_from(boards((1100, 195)), a_job(SHELF), seconds=20)

    assert (told.made, told.at_most, told.exact) == (1, 1, True)


def test_what_one_round_leaves_of_a_board_is_used_in_the_next(monkeypatch: pytest.MonkeyPatch) -> None:
    """Wherever the first shelf is cut from 4000 mm, an end holds another; a round asks for one."""
    monkeypatch.setattr("stockyard.services.count_panels.AT_ONCE", 1)

    told = count_from(boards((4000, 200)), a_job(SHELF), seconds=30)

    assert (told.made >= 2, told.boards) == (True, 1)
    assert told.made <= told.at_most == 3


def test_a_stock_too_thin_or_of_another_wood_makes_none(yard: Yard) -> None:
    receive(yard, "spotted gum,2400,200,22,48.00", "blackbutt,2400,200,32,48.00")
    told = count_panels(yard.open_work, replace(SHELF, species=("spotted gum",)), seconds=5)

    assert (told.made, told.at_most, told.exact) == (0, 0, True)


def test_promised_and_unread_boards_do_not_count(sqlite_yard: Yard) -> None:
    """The workshop's starting rule refuses a board that was never read."""
    receive(sqlite_yard, *["spotted gum,1100,200,32,48.00"] * 2)
    add_reading(sqlite_yard.open_work, "SG-0001", 11.0)

    told = count_panels(sqlite_yard.open_work, replace(SHELF, species=("spotted gum",)), seconds=5)

    assert (told.made, told.at_most, told.exact) == (1, 1, True)


def test_a_panel_that_cannot_be_is_refused_with_every_fault(sqlite_yard: Yard) -> None:
    wrong = Panel("p", 0, 9000, 22, ("plastic",), 3, 2, 50, 40)
    with pytest.raises(BadInput) as refused:
        count_panels(sqlite_yard.open_work, wrong, seconds=0)

    assert {fault.where for fault in refused.value.faults} == {
        "species",
        "length",
        "width",
        "staves",
        "stave width",
        "seconds",
    }


def test_progress_is_told() -> None:
    seen: list[tuple[int, int]] = []
    count_from(boards((2400, 200)), a_job(SHELF), seconds=20, on_progress=lambda *told: seen.append(told))

    assert seen[-1][0] == 2
