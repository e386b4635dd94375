"""Receives, allocates, cuts, upgrades, copies and restores, and is killed in the middle, again and again.

python -m tests.services.struck PLACE FOLDER KILLS SEED    # PLACE: an empty yard, a file or a URL

Run as a program of its own: everything is loaded once, then each victim is forked, sets out on its act and
gets SIGKILL at one of its steps (a statement, a commit, a rename) drawn at random, or after a random time.
After each death a line of JSON says what was found wrong: nothing, when the act was done whole or not at all.
"""

import itertools
import json
import os
import random
import shutil
import signal
import sys
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

from sqlalchemy import event
from sqlalchemy.engine import Engine

from stockyard.records import open_yard, upgrade
from stockyard.records.backup import back_up, pictures_with, restore
from stockyard.records.connect import yard_url
from stockyard.records.copies import back_up_keeping
from stockyard.records.migrate import HEAD, Standing, revisions, run_to, standing_at
from stockyard.records.move import move_yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.check_books import check_books
from stockyard.services.cut_plan import cut_plan
from tests.conftest import NOON, at_noon
from tests.records.test_move import with_a_picture
from tests.services.yards import receive
from tests.stocking import a_plan, keep_plan
from tests.stocking import receive as receive_plain

Told = tuple[int, int, int, int]
"""Pieces on hand, movements, deliveries and promised pieces: what an act changes, all or nothing."""


class Yards:
    """The yard that is worked in, and what has been done in it so far."""

    def __init__(self, place: str, folder: Path) -> None:
        self.place, self.folder, self.dockets = place, folder, itertools.count(1)
        self.file = "://" not in place

    def told(self, place: str | Path) -> Told:
        with open_yard(place, clock=at_noon) as yard, yard.open_work(reading=True) as work:
            pieces = list(work.pieces.find())
            movements, _ = work.proofs.sizes()
            promised = sum(piece.promised_to is not None for piece in pieces)
            return len(pieces), movements, len({piece.delivery for piece in pieces}), promised

    def wrong_books(self, place: str | Path) -> list[str]:
        with open_yard(place, clock=at_noon) as yard:
            return [str(each) for each in check_books(yard.open_work).disagreements]

    def a_plan(self, *, allocated: bool) -> int:
        with open_yard(self.place, clock=at_noon) as yard:
            with yard.open_work() as work:
                plan = keep_plan(work, a_plan(receive_plain(work, 2)))
                work.commit()
            if allocated:
                allocate_plan(yard.open_work, plan)
        return plan


def act_on(yards: Yards, act: Callable[..., object], *given: object, **named: object) -> Callable[[], None]:
    def acts() -> None:
        with open_yard(yards.place, clock=at_noon) as yard:
            act(yard, *given, **named)

    return acts


def booking(yards: Yards, kind: str) -> Callable[[], None]:
    """An act that books, ready to be set out on."""
    if kind == "receive":
        rows = ["spotted gum,2400,180,32,48.00"] * 5
        return act_on(yards, receive, *rows, docket=f"K-{next(yards.dockets)}")
    plan = yards.a_plan(allocated=kind == "cut")
    if kind == "allocate":
        return act_on(yards, lambda yard: allocate_plan(yard.open_work, plan))
    return act_on(yards, lambda yard: cut_plan(yard.open_work, plan))


def struck(act: Callable[[], None], rng: random.Random, steps: int, took_s: float) -> tuple[bool, bool]:
    """Fork one, kill it at a step or a moment. Returns whether it died of it, and whether it had finished."""
    at_step = rng.randint(1, steps) if rng.random() < 0.7 else None
    listens, tells = os.pipe()
    pid = os.fork()
    if pid == 0:
        null = os.open(os.devnull, os.O_WRONLY)
        os.dup2(null, 1)
        os.dup2(null, 2)
        if at_step is not None:
            counted(at_step, lambda: os.kill(os.getpid(), signal.SIGKILL))
        try:
            act()
            os.write(tells, b"1")
        finally:
            os._exit(0)
    os.close(tells)
    if at_step is None:
        time.sleep(rng.uniform(0, took_s))
        os.kill(pid, signal.SIGKILL)
    died = os.WIFSIGNALED(os.waitpid(pid, 0)[1])
    finished = os.read(listens, 1) == b"1"
    os.close(listens)
    return died, finished


def counted(step: int, then: Callable[[], None]) -> None:
    """Do `then` in this process at its step of that number: before a statement or commit, after a rename."""
    count = itertools.count(1)

    def tick(*_: object, **__: object) -> None:
        if next(count) == step:
            then()

    for name in ("before_cursor_execute", "commit"):
        event.listen(Engine, name, tick)
    for name in ("rename", "replace", "mkdir", "fsync"):
        real = getattr(os, name)

        def after(*given: object, real: Callable[..., object] = real, **named: object) -> object:
            done = real(*given, **named)
            tick()
            return done

        setattr(os, name, after)


def measured(act: Callable[[], None]) -> tuple[int, float]:
    """How many steps an act has and how long it takes, told by a child that comes through."""
    listens, tells = os.pipe()
    pid = os.fork()
    if pid == 0:
        steps = itertools.count(1)
        reached = [0]
        counted(0, lambda: None)
        event.listen(Engine, "before_cursor_execute", lambda *_: reached.__setitem__(0, next(steps)))
        event.listen(Engine, "commit", lambda *_: reached.__setitem__(0, next(steps)))
        began = time.monotonic()
        try:
            act()
            os.write(tells, json.dumps([reached[0], time.monotonic() - began]).encode())
        finally:
            os._exit(0)
    os.close(tells)
    os.waitpid(pid, 0)
    told = json.loads(os.read(listens, 1000))
    os.close(listens)
    return max(2, told[0]), told[1]


def book(yards: Yards, kind: str, rng: random.Random) -> tuple[bool, list[str]]:
    """Kill one that books: afterwards the yard is as before, or as after all of it."""
    act = booking(yards, kind)
    before = yards.told(yards.place)
    steps, took_s = SIZES.setdefault(kind, measured(booking(yards, kind)) if kind not in SIZES else (0, 0.0))
    before = yards.told(yards.place)
    died, finished = struck(act, rng, steps, took_s)
    after = yards.told(yards.place)
    change = tuple(now - then for now, then in zip(after, before, strict=True))
    lawful = {"receive": (5, 1, 1, 0), "allocate": (0, 1, 0, 2), "cut": (2, 1, 0, -2)}[kind]
    wrong = yards.wrong_books(yards.place)
    if change != lawful and (finished or any(change)):
        wrong.append(
            f"{kind} changed {change}, whole is {lawful}, it {'had' if finished else 'had not'} said done"
        )
    return died, wrong


SIZES: dict[str, tuple[int, float]] = {}


def copy(yards: Yards, kind: str, rng: random.Random) -> tuple[bool, list[str]]:
    """Kill one that copies: what stands under the name is whole or not there, and it can be done again."""
    target = yards.folder / f"{kind}-{rng.getrandbits(40):x}"
    target.mkdir()
    there = yards.told(yards.place)
    source = yards.folder / "source.db"
    if kind in ("restore", "upgrade") and not source.exists():
        back_up(yards.place, source)
        older = yards.folder / "older.db"
        shutil.copyfile(source, older)
        run_to(yard_url(older), revisions()[0])
    new = target / "new.db"
    if kind == "upgrade":
        shutil.copyfile(yards.folder / "older.db", new)
        act: Callable[[], object] = lambda: upgrade(new, NOON)  # noqa: E731
    else:
        act = {
            "backup": lambda: back_up(yards.place, new),
            "keep": lambda: back_up_keeping(yards.place, target, 2, NOON + timedelta(seconds=1)),
            "restore": lambda: restore(source, new),
            "move": lambda: move_yard(yards.place, str(new), now=NOON),
        }[kind]
    if kind not in SIZES:
        began = time.monotonic()
        act()
        SIZES[kind] = (60 if kind in ("move", "upgrade") else 12, time.monotonic() - began)
        shutil.rmtree(target)
        return copy(yards, kind, rng)
    died, finished = struck(act, rng, *SIZES[kind])
    wrong = []
    for each in [each for each in target.glob("*.db") if not each.name.startswith(".")]:
        stands, _ = standing_at(each)
        if stands is Standing.EMPTY and kind == "move" and not finished:
            continue
        if stands is Standing.OLDER and kind == "upgrade" and not finished:
            continue
        if stands is not Standing.CURRENT and "before-upgrade" not in each.name:
            wrong.append(f"{each.name} stands {stands}")
        elif stands is Standing.CURRENT and kind != "upgrade":
            wrong += yards.wrong_books(each)
            if kind != "restore" and yards.told(each) != there:
                wrong.append(f"{each.name} holds {yards.told(each)}, not {there}")
            if pictures_with(each).missing:
                wrong.append(f"{each.name} lacks pictures")
        elif "before-upgrade" in each.name and stands is not Standing.OLDER:
            wrong.append(f"{each.name} is no copy of the older one but {stands}")
    if finished and kind == "upgrade" and standing_at(new)[0] is not Standing.CURRENT:
        wrong.append(f"said done and is not at {HEAD}")
    whole = new.exists() and standing_at(new)[0] is Standing.CURRENT
    if kind != "keep" and not whole:
        try:
            act()
        except Exception as error:
            wrong.append(f"cannot be done again: {error}")
    if kind == "keep":
        back_up_keeping(yards.place, target, 1, NOON + timedelta(hours=1))
        left = sorted(each.name for each in target.iterdir() if not each.name.startswith("."))
        stem = Path(yard_url(yards.place).database or "").stem
        if left != [f"{stem}-20260302-130000.db", f"{stem}-20260302-130000.db.pictures"]:
            wrong.append(f"left behind: {left}")
    shutil.rmtree(target)
    return died, wrong


def run(place: str, folder: Path, kills: int, seed: int) -> None:
    """Kill so often, the acts in turn."""
    rng, yards = random.Random(seed), Yards(place, folder)
    books, copies = ("receive", "allocate", "cut"), ("upgrade", "backup", "restore", "move", "keep")
    if yards.file:
        with_a_picture(place)
    receive_all = booking(yards, "receive")
    receive_all()
    acts = [*books, *copies] if yards.file else [*books]
    for turn in range(kills):
        kind = acts[turn % len(acts)]
        died, wrong = (book if kind in books else copy)(yards, kind, rng)
        print(json.dumps({"act": kind, "died": died, "wrong": wrong}), flush=True)


if __name__ == "__main__":
    run(sys.argv[1], Path(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4]))
