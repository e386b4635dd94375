"""Everybody at the same boards at once, on both databases: promised once, cut once, counted, corrected."""

import os
import random
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

from stockyard.errors import BadInput, Refused
from stockyard.ledger import disagreements
from stockyard.records import Contended, Yard, open_yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.check_books import check_books
from stockyard.services.correct_board import Correction, correct_board, move_boards
from stockyard.services.count_stock import book_stocktake, drop_stocktake, note_numbers, start_stocktake
from stockyard.services.cut_plan import cut_plan
from stockyard.services.dispose_board import dispose_board
from stockyard.services.map_defects import Sketch, add_defect
from stockyard.services.release_plan import release_plan
from stockyard.services.reverse_movement import reverse_movement
from stockyard.timber.booked_plan import PlanStatus
from stockyard.timber.defect import DefectKind, Face
from tests.conftest import at_noon
from tests.services.yards import receive
from tests.stocking import a_plan, keep_plan
from tests.stocking import receive as receive_plain

PEOPLE = int(os.environ.get("STOCKYARD_PEOPLE", "12"))
"""How many are at work at once, each doing ten things; there are four boards for each of them."""

Act = Callable[[Yard, random.Random, list[int], list[str]], object]


def measure(yard: Yard, chance: random.Random, _: list[int], boards: list[str]) -> None:
    correct_board(
        yard.open_work, chance.choice(boards), Correction(bow_mm=float(chance.randint(0, 5))), "measured"
    )


def carry(yard: Yard, chance: random.Random, _: list[int], boards: list[str]) -> None:
    move_boards(yard.open_work, tuple(chance.sample(boards, 4)), f"rack {chance.randint(1, 3)}")


def draw(yard: Yard, chance: random.Random, _: list[int], boards: list[str]) -> None:
    crack = Sketch(DefectKind.CRACK, Face.A, box=(10, 10, 200, 14))
    add_defect(yard.open_work, chance.choice(boards), crack)


def count(yard: Yard, chance: random.Random, _: list[int], boards: list[str]) -> None:
    place = f"rack {chance.randint(1, 3)}"
    sheet = start_stocktake(yard.open_work, place)
    note_numbers(yard.open_work, chance.sample(boards, 6), stocktake=sheet.number)
    if chance.random() < 0.5:
        book_stocktake(yard.open_work, sheet.number, reason="not found")
    else:
        drop_stocktake(yard.open_work, sheet.number)


def take_in(yard: Yard, chance: random.Random, _: list[int], boards: list[str]) -> None:
    receive(yard, *["spotted gum,2400,180,32,48.00"] * 3, docket=f"M-{chance.randint(1, 20)}")


def undo(yard: Yard, chance: random.Random, _: list[int], boards: list[str]) -> None:
    reverse_movement(yard.open_work, chance.randint(2, 60), reason="by mistake")


ACTS: dict[str, Act] = {
    "allocate": lambda yard, chance, plans, _: allocate_plan(yard.open_work, chance.choice(plans)),
    "release": lambda yard, chance, plans, _: release_plan(yard.open_work, chance.choice(plans)),
    "cut": lambda yard, chance, plans, _: cut_plan(yard.open_work, chance.choice(plans)),
    "throw away": lambda yard, chance, _, boards: dispose_board(
        yard.open_work, chance.choice(boards), reason="split"
    ),
    "measure": measure,
    "carry": carry,
    "draw": draw,
    "count": count,
    "take in": take_in,
    "undo": undo,
}
OFTEN = ["allocate"] * 4 + ["cut"] * 2 + list(ACTS)


def test_whatever_everybody_does_no_board_is_promised_twice_and_the_books_add_up(yard_place: str) -> None:
    with open_yard(yard_place, clock=at_noon) as yard, yard.open_work() as work:
        boards = receive_plain(work, 4 * PEOPLE)
        chance = random.Random(3)
        plans = [keep_plan(work, a_plan(chance.sample(boards, 3))) for _ in range(2 * PEOPLE)]
        work.commit()

    def a_day(yard: Yard, seed: int) -> Counter[tuple[str, str]]:
        chance, ends = random.Random(seed), Counter[tuple[str, str]]()
        for _ in range(10):
            name = chance.choice(OFTEN)
            try:
                ACTS[name](yard, chance, plans, boards)
            except (Refused, BadInput) as refusal:
                ends[name, type(refusal).__name__] += 1
            else:
                ends[name, "done"] += 1
        return ends

    with open_yard(yard_place, clock=at_noon) as yard, ThreadPoolExecutor(PEOPLE) as pool:
        ends = sum(pool.map(lambda seed: a_day(yard, seed), range(PEOPLE)), Counter[tuple[str, str]]())

        told = {(name, end): number for (name, end), number in ends.items() if end == Contended.__name__}
        assert told == {}, "every deadlock was tried again"
        assert sum(ends.values()) == 10 * PEOPLE
        assert {name for name, end in ends if end == "done"} >= {"allocate", "measure", "carry"}
        assert check_books(yard.open_work).disagreements == ()
        with yard.open_work(reading=True) as work:
            movements, shown = work.movements.all(), work.stock.shown()
            assert disagreements(movements, shown) == []
            held = {plan.number: plan.seen for plan in work.plans.find(status=PlanStatus.ALLOCATED)}
            wanted = Counter(board for seen in held.values() for board in seen)
            assert [board for board, times in wanted.items() if times > 1] == []
            promised = {piece.number: piece.promised_to for piece in work.pieces.find() if piece.promised_to}
            assert promised == {board: plan for plan, seen in held.items() for board in seen}
