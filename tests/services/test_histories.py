"""Random histories of a yard, held at every step to a plain model that shares nothing with the ledger.

STOCKYARD_HISTORIES says how many, 8 where it is not set.
"""

import os
import shutil
import tempfile
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import Any

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from stockyard.records import OpenWork, Yard, open_yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.check_books import check_books
from stockyard.services.correct_board import Correction, correct_board, move_boards
from stockyard.services.count_stock import book_stocktake, read_numbers, start_stocktake
from stockyard.services.cut_plan import cut_plan
from stockyard.services.dispose_board import dispose_board
from stockyard.services.make_report import make_report
from stockyard.services.release_plan import release_plan
from stockyard.services.reverse_movement import reverse_movement
from stockyard.services.write_down_board import write_down_board
from tests.conftest import NOON
from tests.stocking import a_plan, keep_plan, receive

PLACES = ("rack A", "rack B", "bench")
SIZE = (2400.0, 180.0, 32.0)
STAVE, OFFCUT = (1220, 140), (1157, 180)
"""What `a_plan` cuts from each board. [mm along, across]"""


@dataclass
class Thing:
    """A piece as the model knows it; worth in whole cents."""

    place: str
    cents: int
    size: tuple[float, float, float] = SIZE
    kind: str = "board"
    plan: int | None = None


@dataclass
class Model:
    """Pieces on hand, what was ended and by which movement, and what accounts stand at in cents."""

    here: dict[str, Thing] = field(default_factory=dict)
    ended: dict[str, tuple[Thing, int]] = field(default_factory=dict)
    accounts: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    plans: dict[int, list[str]] = field(default_factory=dict)
    evenings: dict[date, dict[str, Thing]] = field(default_factory=dict)


def shared(cents: int) -> tuple[int, int]:
    """A board's cents for its stave and its offcut by volume, the odd cent to the larger remainder."""
    volumes = [along * across for along, across in (STAVE, OFFCUT)]
    exact = [Fraction(cents * volume, sum(volumes)) for volume in volumes]
    whole = [int(each) for each in exact]
    if sum(whole) < cents:
        whole[0 if exact[0] - whole[0] >= exact[1] - whole[1] else 1] += 1
    return whole[0], whole[1]


class History(RuleBasedStateMachine):
    """Whatever a yard may go through, in any order."""

    template: Path

    @initialize()
    def open(self) -> None:
        self.folder = Path(tempfile.mkdtemp())
        shutil.copyfile(self.template, self.folder / "yard.db")
        self.yard: Yard = open_yard(self.folder / "yard.db")
        self.model, self.day, self.minutes = Model(), 0, 0

    @property
    def today(self) -> date:
        return (NOON + timedelta(days=self.day)).date()

    def work(self) -> OpenWork:
        self.minutes += 1
        return partial(self.yard.open_work, now=NOON + timedelta(days=self.day, seconds=self.minutes))

    def any_of(self, data: st.DataObject, *, promised: bool = False) -> str:
        return data.draw(st.sampled_from(sorted(self.free if not promised else self.model.here)))

    @property
    def free(self) -> list[str]:
        return [number for number, thing in self.model.here.items() if thing.plan is None]

    @rule(days=st.integers(1, 40))
    def time_goes_by(self, days: int) -> None:
        self.day += days

    @rule(count=st.integers(1, 4), cents=st.integers(0, 20_000), place=st.sampled_from(PLACES))
    def boards_are_received(self, count: int, cents: int, place: str) -> None:
        with self.work()() as work:
            numbers = receive(work, count, str(Decimal(cents) / 100), place=place)
            work.commit()
        self.model.here |= {number: Thing(place, cents) for number in numbers}
        self.model.accounts["suppliers"] -= count * cents

    @precondition(lambda self: self.model.here)
    @rule(data=st.data(), place=st.sampled_from(PLACES))
    def one_is_moved(self, data: st.DataObject, place: str) -> None:
        number = self.any_of(data, promised=True)
        move_boards(self.work(), (number,), place)
        self.model.here[number].place = place

    @precondition(lambda self: self.free)
    @rule(data=st.data(), length=st.integers(1000, 2600))
    def one_is_measured_again(self, data: st.DataObject, length: int) -> None:
        number = self.any_of(data)
        correct_board(self.work(), number, Correction(length_mm=float(length)))
        self.model.here[number].size = (float(length), *self.model.here[number].size[1:])

    @precondition(lambda self: self.free)
    @rule(data=st.data())
    def one_is_disposed_of(self, data: st.DataObject) -> None:
        number = self.any_of(data)
        dispose_board(self.work(), number, reason="borers")
        self.end(number, self.last_movement())

    @precondition(lambda self: any(thing.cents for thing in self.model.here.values()))
    @rule(data=st.data())
    def one_is_written_down(self, data: st.DataObject) -> None:
        number = data.draw(st.sampled_from(sorted(n for n, thing in self.model.here.items() if thing.cents)))
        thing = self.model.here[number]
        to = data.draw(st.integers(0, thing.cents - 1))
        write_down_board(self.work(), number, to=Decimal(to) / 100, reason="sappy")
        self.model.accounts["write_downs"] += thing.cents - to
        thing.cents = to

    @rule(count=st.integers(1, 3), cents=st.integers(1, 20_000))
    def boards_are_promised(self, count: int, cents: int) -> None:
        with self.work()() as work:
            numbers = receive(work, count, str(Decimal(cents) / 100), place="rack A")
            plan = keep_plan(work, a_plan(numbers))
            work.commit()
        allocate_plan(self.work(), plan)
        self.model.here |= {number: Thing("rack A", cents, plan=plan) for number in numbers}
        self.model.accounts["suppliers"] -= count * cents
        self.model.plans[plan] = numbers

    @precondition(lambda self: self.model.plans)
    @rule(data=st.data())
    def a_plan_is_released(self, data: st.DataObject) -> None:
        plan = data.draw(st.sampled_from(sorted(self.model.plans)))
        release_plan(self.work(), plan)
        for number in self.model.plans.pop(plan):
            self.model.here[number].plan = None

    @precondition(lambda self: self.model.plans)
    @rule(data=st.data(), spoiled=st.booleans(), kept=st.booleans())
    def a_plan_is_cut(self, data: st.DataObject, spoiled: bool, kept: bool) -> None:
        """Its first stave may be spoiled, and the offcut of its first board thrown away."""
        plan = data.draw(st.sampled_from(sorted(self.model.plans)))
        numbers = self.model.plans.pop(plan)
        lost = {("top", 0)} if spoiled else set()
        cut = cut_plan(self.work(), plan, spoiled=lost, not_kept=set() if kept else {(numbers[0], 0)})
        made = {(piece.parent, piece.kind.value): piece.number for piece in cut.pieces}
        for place, number in enumerate(numbers):
            board = self.model.here.pop(number)
            first = place == 0
            stave, offcut = shared(board.cents) if kept or not first else (board.cents, 0)
            if kept or not first:
                self.model.here[made[number, "offcut"]] = Thing(
                    board.place, offcut, (*map(float, OFFCUT), 32.0), "offcut"
                )
            if spoiled and first:
                self.model.accounts["jobs"] += stave
            else:
                self.model.here[made[number, "stave"]] = Thing(
                    board.place, stave, (*map(float, STAVE), 32.0), "stave"
                )

    @precondition(lambda self: self.model.ended)
    @rule(data=st.data())
    def what_was_lost_turns_up(self, data: st.DataObject) -> None:
        number = data.draw(st.sampled_from(sorted(self.model.ended)))
        thing, movement = self.model.ended.pop(number)
        reverse_movement(self.work(), movement, reason="behind the door")
        self.model.here[number] = thing
        self.model.accounts["losses"] -= thing.cents

    @precondition(lambda self: self.model.here)
    @rule(data=st.data())
    def a_place_is_counted(self, data: st.DataObject) -> None:
        """Any of the yard may be found there; what stands there and is promised always is."""
        place = data.draw(st.sampled_from(sorted({thing.place for thing in self.model.here.values()})))
        there = {n for n, thing in self.model.here.items() if thing.place == place and thing.kind != "stave"}
        found = data.draw(st.sets(st.sampled_from(sorted(self.model.here)), min_size=1))
        found |= {number for number in there if self.model.here[number].plan is not None}
        length = data.draw(st.none() | st.integers(1000, 2600))
        start_stocktake(self.work(), place)
        read_numbers(self.work(), sorted(found))
        measured = sorted(number for number in found if self.model.here[number].plan is None)[:1]
        if length is not None and measured:
            size = (float(length), *self.model.here[measured[0]].size[1:])
            read_numbers(self.work(), measured, size_mm=size)
            self.model.here[measured[0]].size = size
        sheet = book_stocktake(self.work(), reason="nobody knows")
        for number in found:
            self.model.here[number].place = place
        missing = sorted(there - found)
        assert len(sheet.movements) == len(missing)
        for number, movement in zip(missing, sheet.movements, strict=True):
            self.end(number, movement)

    def end(self, number: str, movement: int) -> None:
        thing = self.model.here.pop(number)
        self.model.ended[number] = (thing, movement)
        self.model.accounts["losses"] += thing.cents

    def last_movement(self) -> int:
        with self.yard.open_work(reading=True) as work:
            return work.movements.all()[-1].id or 0

    @invariant()
    def the_books_say_what_the_model_says(self) -> None:
        if not hasattr(self, "yard"):
            return
        with self.work()(reading=True) as work:
            pieces = {piece.number: piece for piece in work.pieces.find()}
            held = {piece.number: piece for piece in work.stock.held(self.today)}
        for told in (pieces, held):
            assert {number: _told(piece) for number, piece in told.items()} == {
                number: _expected(thing) for number, thing in self.model.here.items()
            }
        assert check_books(self.work()).disagreements == ()
        self.model.evenings[self.today] = {
            number: Thing(thing.place, thing.cents, thing.size) for number, thing in self.model.here.items()
        }

    def teardown(self) -> None:
        if not hasattr(self, "yard"):
            return
        report: Callable[..., Any] = partial(make_report, self.work())
        for day, things in self.model.evenings.items():
            stock = report("stock", as_of=day)
            assert {row[0]: (row[6], row[13]) for row in stock.rows} == {
                number: (thing.place, Decimal(thing.cents) / 100) for number, thing in things.items()
            }
            worth = report("worth", until=day).rows
            assert worth[-1][-1] == Decimal(sum(thing.cents for thing in things.values())) / 100
        journal = report("journal")
        assert journal.foot.get("debit", 0) == journal.foot.get("credit", 0)
        totals: dict[str, Decimal] = defaultdict(Decimal)
        for row in journal.rows:
            totals[str(row[3])] += (row[9] or Decimal(0)) - (row[10] or Decimal(0))
        for account, cents in self.model.accounts.items():
            assert totals[account.replace("_", " ")] == Decimal(cents) / 100
        self.yard.close()
        shutil.rmtree(self.folder)


def _told(piece: Any) -> tuple[object, ...]:
    return piece.place, piece.value, (piece.length_mm, piece.width_mm, piece.thickness_mm), piece.volume_mm3


def _expected(thing: Thing) -> tuple[object, ...]:
    length, width, thickness = thing.size
    return thing.place, Decimal(thing.cents) / 100, thing.size, round(length * width * thickness)


def test_on_hand_worth_and_journal_agree_with_a_plain_model(sqlite_template: Path) -> None:
    History.template = sqlite_template
    many = int(os.environ.get("STOCKYARD_HISTORIES", "8"))
    run_state_machine_as_test(
        History, settings=settings(max_examples=many, stateful_step_count=30, deadline=None)
    )
