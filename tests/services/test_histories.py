"""Random histories of a yard, held at every step to a plain model that shares nothing with the ledger.

STOCKYARD_HISTORIES says how many, 8 where it is not set; `python -m tests.figures.histories` runs them until
so many movements were booked, and counts them.
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

import pytest
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

from stockyard.errors import Refused
from stockyard.records import OpenWork, Yard, open_yard
from stockyard.selection.interchange import job_document
from stockyard.services.add_cost import add_cost
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.check_books import check_books
from stockyard.services.correct_board import Correction, correct_board, move_boards
from stockyard.services.count_stock import book_stocktake, read_numbers, start_stocktake
from stockyard.services.cut_plan import cut_plan
from stockyard.services.dispose_board import dispose_board
from stockyard.services.finish_plan import finish_plan
from stockyard.services.make_report import make_report
from stockyard.services.release_plan import release_plan
from stockyard.services.report_holdings import report_holdings
from stockyard.services.reverse_movement import reverse_movement
from stockyard.services.supplies import add_supply, buy_supply, count_supply, list_supplies, use_supply
from stockyard.services.value_at_realisable import value_board
from stockyard.services.write_down_board import write_down_board
from tests.builders import a_job
from tests.conftest import NOON
from tests.stocking import a_plan, keep_plan, receive

PLACES = ("rack A", "rack B", "bench")
SIZE = (2400.0, 180.0, 32.0)
STAVE, OFFCUT = (1220, 140), (1157, 180)
"""What `a_plan` cuts from each board. [mm along, across]"""


@dataclass
class Thing:
    """A piece as the model knows it; worth in whole cents.

    below: how far it was written down and not taken back. last: the day of its newest movement.
    """

    place: str
    cents: int
    size: tuple[float, float, float] = SIZE
    kind: str = "board"
    plan: int | None = None
    below: int = 0
    last: date = date.min

    @property
    def volume(self) -> int:
        length, width, thickness = self.size
        return round(length * width * thickness)


@dataclass
class Model:
    """Pieces on hand, what was ended, by which movement and at whose cost, and accounts in cents.

    staves: by cut plan. finished, costs: what may be taken back, by movement. glue: grams and cents there.
    """

    here: dict[str, Thing] = field(default_factory=dict)
    ended: dict[str, tuple[Thing, int, str]] = field(default_factory=dict)
    staves: dict[int, list[str]] = field(default_factory=dict)
    finished: dict[int, dict[str, Thing]] = field(default_factory=dict)
    costs: dict[int, dict[str, int]] = field(default_factory=dict)
    uses: dict[int, tuple[int, int]] = field(default_factory=dict)
    glue: tuple[int, int] = (0, 0)
    shelves: dict[date, tuple[int, int]] = field(default_factory=dict)
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


def split(cents: int, weights: list[int]) -> list[int]:
    """Cents by weight, those left over to the largest remainders, the earlier of equals first."""
    exact = [Fraction(cents * weight, sum(weights)) for weight in weights]
    whole = [int(each) for each in exact]
    order = sorted(range(len(weights)), key=lambda place: (whole[place] - exact[place], place))
    for place in order[: cents - sum(whole)]:
        whole[place] += 1
    return whole


def half_up(value: Fraction) -> int:
    """To the nearest whole number, halves up."""
    return int(value + Fraction(1, 2))


class History(RuleBasedStateMachine):
    """Whatever a yard may go through, in any order."""

    template: Path
    movements = 0

    @initialize()
    def open(self) -> None:
        self.folder = Path(tempfile.mkdtemp())
        shutil.copyfile(self.template, self.folder / "yard.db")
        self.yard: Yard = open_yard(self.folder / "yard.db")
        self.model, self.day, self.minutes = Model(), 0, 0
        with self.work()() as work:
            work.jobs.keep("hall-bench", job_document(a_job()))
            work.commit()
        add_supply(self.work(), "glue", kind="glue", unit="g")

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
        self.model.here |= {number: Thing(place, cents, last=self.today) for number in numbers}
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
        self.measured(number, (float(length), *self.model.here[number].size[1:]))

    @precondition(lambda self: self.free)
    @rule(data=st.data())
    def one_is_disposed_of(self, data: st.DataObject) -> None:
        number = self.any_of(data)
        dispose_board(self.work(), number, reason="borers")
        spoiled = self.model.here[number].kind == "stave"
        self.end(number, self.last_movement(), "jobs" if spoiled else "losses")

    @precondition(lambda self: any(thing.cents for thing in self.model.here.values()))
    @rule(data=st.data())
    def one_is_written_down(self, data: st.DataObject) -> None:
        number = data.draw(st.sampled_from(sorted(n for n, thing in self.model.here.items() if thing.cents)))
        thing = self.model.here[number]
        to = data.draw(st.integers(0, thing.cents - 1))
        write_down_board(self.work(), number, to=Decimal(to) / 100, reason="sappy")
        self.model.accounts["write_downs"] += thing.cents - to
        thing.cents, thing.below, thing.last = to, thing.below + thing.cents - to, self.today

    @precondition(lambda self: self.model.here)
    @rule(data=st.data(), realisable=st.integers(0, 25_000))
    def one_is_held_to_what_it_would_sell_for(self, data: st.DataObject, realisable: int) -> None:
        number = self.any_of(data, promised=True)
        thing = self.model.here[number]
        to = min(thing.cents + thing.below, realisable)
        value_board(self.work(), number, Decimal(realisable) / 100, reason="price list")
        if to != thing.cents:
            thing.last = self.today
        self.model.accounts["write_downs"] += thing.cents - to
        thing.cents, thing.below = to, thing.below + thing.cents - to

    @precondition(lambda self: self.model.here)
    @rule(
        data=st.data(),
        cents=st.integers(1, 9_999),
        by=st.sampled_from(["each", "volume", "value"]),
        back=st.integers(0, 20),
    )
    def a_cost_is_added(self, data: st.DataObject, cents: int, by: str, back: int) -> None:
        """Of drying, perhaps told late: it counts from an earlier day where nothing happened since."""
        may = sorted(n for n, thing in self.model.here.items() if thing.kind != "stave")
        if not may:
            return
        numbers = sorted(data.draw(st.sets(st.sampled_from(may), min_size=1, max_size=5)))
        things = [self.model.here[number] for number in numbers]
        weights = {
            "each": [1 for _ in things],
            "volume": [thing.volume for thing in things],
            "value": [thing.cents for thing in things],
        }[by]
        shares = split(cents, weights if any(weights) else [1 for _ in things])
        day = self.today - timedelta(days=back)
        ask = partial(add_cost, self.work(), Decimal(cents) / 100, what="drying", numbers=numbers, by=by)
        touched = [thing for thing, share in zip(things, shares, strict=True) if share]
        if any(thing.last > day for thing in touched):
            with pytest.raises(Refused, match="has a movement of"):
                ask(effective=day)
            return
        booked = ask(effective=day)
        for number, thing, share in zip(numbers, things, shares, strict=True):
            thing.cents += share
            thing.last = day if share else thing.last
            for evening, then in self.model.evenings.items():
                if evening >= day and number in then:
                    then[number].cents += share
        self.model.accounts["conversion"] -= cents
        self.model.costs[booked.movement] = dict(zip(numbers, shares, strict=True))

    @precondition(lambda self: self.model.costs)
    @rule(data=st.data())
    def a_cost_is_taken_back(self, data: st.DataObject) -> None:
        movement = data.draw(st.sampled_from(sorted(self.model.costs)))
        shares = {number: share for number, share in self.model.costs[movement].items() if share}
        here = self.model.here
        if any(number not in here or here[number].cents < share for number, share in shares.items()):
            with pytest.raises(Refused, match="changed after it"):
                reverse_movement(self.work(), movement, reason="not our bill")
            return
        reverse_movement(self.work(), movement, reason="not our bill")
        del self.model.costs[movement]
        for number, share in shares.items():
            here[number].cents -= share
            here[number].last = self.today
            self.model.accounts["conversion"] += share

    @rule(grams=st.integers(1, 5_000), cents=st.integers(0, 9_000))
    def glue_is_bought(self, grams: int, cents: int) -> None:
        buy_supply(self.work(), "glue", Decimal(grams), cost=Decimal(cents) / 100, supplier="Brolga Fixings")
        there, worth = self.model.glue
        self.model.glue = there + grams, worth + cents
        self.model.accounts["suppliers"] -= cents
        self.model.accounts["supplies"] += cents

    @precondition(lambda self: self.model.glue[0])
    @rule(data=st.data())
    def glue_is_used(self, data: st.DataObject) -> None:
        there, worth = self.model.glue
        grams = data.draw(st.integers(1, there))
        cost = worth if grams == there else min(worth, half_up(Fraction(worth * grams, there)))
        use_supply(self.work(), "glue", Decimal(grams), job="hall-bench")
        self.model.glue = there - grams, worth - cost
        self.model.accounts["jobs"] += cost
        self.model.accounts["supplies"] -= cost
        self.model.uses[self.last_movement()] = grams, cost

    @precondition(lambda self: self.model.uses)
    @rule(data=st.data())
    def a_use_of_glue_is_taken_back(self, data: st.DataObject) -> None:
        movement = data.draw(st.sampled_from(sorted(self.model.uses)))
        grams, cost = self.model.uses.pop(movement)
        reverse_movement(self.work(), movement, reason="another job's")
        there, worth = self.model.glue
        self.model.glue = there + grams, worth + cost
        self.model.accounts["jobs"] -= cost
        self.model.accounts["supplies"] += cost

    @rule(grams=st.integers(0, 6_000))
    def glue_is_counted(self, grams: int) -> None:
        """Less is a loss; more is no gain."""
        there, worth = self.model.glue
        lost = 0
        if grams < there:
            less = there - grams
            lost = worth if less == there else min(worth, half_up(Fraction(worth * less, there)))
        count_supply(self.work(), "glue", Decimal(grams), reason="dried up")
        self.model.glue = grams, worth - lost
        self.model.accounts["losses"] += lost
        self.model.accounts["supplies"] -= lost

    @rule(count=st.integers(1, 3), cents=st.integers(1, 20_000))
    def boards_are_promised(self, count: int, cents: int) -> None:
        with self.work()() as work:
            numbers = receive(work, count, str(Decimal(cents) / 100), place="rack A")
            plan = keep_plan(work, a_plan(numbers))
            work.commit()
        allocate_plan(self.work(), plan)
        self.model.here |= {number: Thing("rack A", cents, plan=plan, last=self.today) for number in numbers}
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
                    board.place, offcut, (float(OFFCUT[0]), float(OFFCUT[1]), 32.0), "offcut", last=self.today
                )
            if spoiled and first:
                self.model.accounts["jobs"] += stave
            else:
                self.model.here[made[number, "stave"]] = Thing(
                    board.place, stave, (float(STAVE[0]), float(STAVE[1]), 32.0), "stave", last=self.today
                )
                self.model.staves.setdefault(plan, []).append(made[number, "stave"])

    @precondition(lambda self: self.ready)
    @rule(data=st.data(), back=st.integers(0, 20))
    def a_panel_is_finished(self, data: st.DataObject, back: int) -> None:
        """Perhaps told late."""
        plan = data.draw(st.sampled_from(self.ready))
        numbers = [number for number in self.model.staves[plan] if number in self.model.here]
        day = self.today - timedelta(days=back)
        if any(self.model.here[number].last > day for number in numbers):
            with pytest.raises(Refused, match="has a movement of"):
                finish_plan(self.work(), plan, effective=day)
            return
        done = finish_plan(self.work(), plan, effective=day)
        self.model.finished[done.movement] = {number: self.model.here.pop(number) for number in numbers}
        for thing in self.model.finished[done.movement].values():
            self.model.accounts["jobs"] += thing.cents
        for evening, then in self.model.evenings.items():
            for number in numbers if evening >= day else ():
                then.pop(number, None)

    @precondition(lambda self: self.model.finished)
    @rule(data=st.data())
    def a_panel_comes_apart(self, data: st.DataObject) -> None:
        movement = data.draw(st.sampled_from(sorted(self.model.finished)))
        reverse_movement(self.work(), movement, reason="starved joint")
        for number, thing in self.model.finished.pop(movement).items():
            self.model.here[number] = thing
            thing.last = self.today
            self.model.accounts["jobs"] -= thing.cents

    @property
    def ready(self) -> list[int]:
        """Cut plans with staves left."""
        here = self.model.here
        return sorted(plan for plan, staves in self.model.staves.items() if any(n in here for n in staves))

    @precondition(lambda self: self.model.ended)
    @rule(data=st.data())
    def what_was_lost_turns_up(self, data: st.DataObject) -> None:
        number = data.draw(st.sampled_from(sorted(self.model.ended)))
        thing, movement, account = self.model.ended.pop(number)
        reverse_movement(self.work(), movement, reason="behind the door")
        self.model.here[number] = thing
        thing.last = self.today
        self.model.accounts[account] -= thing.cents

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
            self.measured(measured[0], size)
        sheet = book_stocktake(self.work(), reason="nobody knows")
        for number in found:
            self.model.here[number].place = place
        missing = sorted(there - found)
        assert len(sheet.movements) == len(missing)
        for number, movement in zip(missing, sheet.movements, strict=True):
            self.end(number, movement, "losses")

    def measured(self, number: str, size: tuple[float, float, float]) -> None:
        """A new size is a movement only where it is another volume."""
        thing = self.model.here[number]
        was, thing.size = thing.volume, size
        if thing.volume != was:
            thing.last = self.today

    def end(self, number: str, movement: int, account: str) -> None:
        thing = self.model.here.pop(number)
        self.model.ended[number] = (thing, movement, account)
        self.model.accounts[account] += thing.cents

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
        (glue,) = list_supplies(self.work())
        assert (int(glue.shelf.quantity), int(glue.shelf.value * 100)) == self.model.glue
        self.model.shelves[self.today] = self.model.glue
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
            (glue,) = list_supplies(self.work(), day)
            assert (int(glue.shelf.quantity), int(glue.shelf.value * 100)) == self.model.shelves[day]
            held = report_holdings(self.work(), (), day).rows[-1]
            assert held["worth"] == Decimal(sum(thing.cents for thing in things.values())) / 100
            worth = report("worth", until=day).rows
            assert worth[-1][-1] == Decimal(sum(thing.cents for thing in things.values())) / 100
        journal = report("journal")
        assert journal.foot.get("debit", 0) == journal.foot.get("credit", 0)
        totals: dict[str, Decimal] = defaultdict(Decimal)
        for row in journal.rows:
            totals[str(row[3])] += (row[9] or Decimal(0)) - (row[10] or Decimal(0))
        History.movements += check_books(self.work()).movements
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
