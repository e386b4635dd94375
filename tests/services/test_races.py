"""Many at once want the same boards. Whatever the database, one gets them and the rest are told politely."""

import random
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack

from stockyard.errors import BadInput, BoardNotFree, Refused
from stockyard.ledger import disagreements
from stockyard.records import Yard, open_yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.cut_plan import cut_plan
from stockyard.services.dispose_board import dispose_board
from stockyard.services.release_plan import release_plan
from stockyard.timber.booked_plan import PlanStatus
from stockyard.timber.movement import MovementKind
from tests.conftest import at_noon
from tests.stocking import a_plan, keep_plan, receive

THREADS, PROCESSES = 24, 3

ONE_PROCESS = """
import sys
from stockyard.errors import BoardNotFree
from stockyard.records import open_yard
from stockyard.services.allocate_plan import allocate_plan
with open_yard(sys.argv[1]) as yard:
    print("ready", flush=True)
    sys.stdin.readline()
    for plan in sys.argv[2:]:
        try:
            allocate_plan(yard.open_work, int(plan))
        except BoardNotFree:
            print("refused")
        else:
            print("won")
"""


def plans_for_one_board(place: str, count: int, boards: int = 1) -> list[int]:
    """That many plans, each wanting the same boards, in a different order."""
    with open_yard(place, clock=at_noon) as yard, yard.open_work() as work:
        numbers = receive(work, boards)
        plans = [keep_plan(work, a_plan(numbers if turn % 2 else numbers[::-1])) for turn in range(count)]
        work.commit()
    return plans


def one_winner(place: str) -> bool:
    with open_yard(place) as yard, yard.open_work(reading=True) as work:
        promised = {piece.promised_to for piece in work.pieces.find()}
        statuses = [plan.status for plan in work.plans.find()]
        return (
            len(promised) == 1
            and None not in promised
            and statuses.count("allocated") == 1
            and disagreements(work.movements.all(), work.stock.shown()) == []
        )


def test_of_many_threads_one_wins_and_the_others_are_told(yard_place: str) -> None:
    plans = plans_for_one_board(yard_place, THREADS, boards=3)

    def attempt(yard: Yard, plan: int) -> str:
        try:
            allocate_plan(yard.open_work, plan)
        except BoardNotFree:
            return "refused"
        return "won"

    with open_yard(yard_place) as yard, ThreadPoolExecutor(THREADS) as pool:
        said = list(pool.map(lambda plan: attempt(yard, plan), plans))

    assert sorted(said) == ["refused"] * (THREADS - 1) + ["won"]
    assert one_winner(yard_place)


def test_of_many_programmes_one_wins_and_the_others_are_told(yard_place: str) -> None:
    plans = plans_for_one_board(yard_place, 2 * PROCESSES, boards=3)
    said = []
    with ExitStack() as stack:
        running = [
            stack.enter_context(
                subprocess.Popen(
                    [
                        sys.executable,
                        "-c",
                        ONE_PROCESS,
                        yard_place,
                        *map(str, plans[2 * turn : 2 * turn + 2]),
                    ],
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    text=True,
                )
            )
            for turn in range(PROCESSES)
        ]
        for process in running:
            assert process.stdout is not None
            assert process.stdout.readline() == "ready\n"
        for process in running:
            assert process.stdin is not None
            process.stdin.write("go\n")
            process.stdin.flush()
        for process in running:
            said += process.communicate()[0].split()

    assert sorted(said) == ["refused"] * (2 * PROCESSES - 1) + ["won"]
    assert one_winner(yard_place)


def test_numbers_given_out_at_once_never_collide(yard_place: str) -> None:
    def take(yard: Yard) -> list[str]:
        with yard.open_work() as work:
            numbers = receive(work, 5)
            work.commit()
        return numbers

    with open_yard(yard_place, clock=at_noon) as yard, ThreadPoolExecutor(THREADS) as pool:
        given = [number for some in pool.map(lambda _: take(yard), range(THREADS)) for number in some]

    assert sorted(given) == [f"SG-{n:04d}" for n in range(1, 5 * THREADS + 1)]


def test_whatever_many_do_at_once_the_books_stay_right(yard_place: str) -> None:
    """Ten people promise, cut, free, measure and throw away the same eight boards, each as they like."""
    with open_yard(yard_place, clock=at_noon) as yard, yard.open_work() as work:
        boards = receive(work, 8)
        plans = [keep_plan(work, a_plan([boards[n], boards[(n + 3) % 8]])) for n in range(8)]
        work.commit()

    def a_day(yard: Yard, seed: int) -> list[str]:
        chance, refused = random.Random(seed), []
        for _ in range(8):
            plan, board = chance.choice(plans), chance.choice(boards)
            act = chance.choice([allocate, allocate, release, cut, measure, throw_away])
            try:
                act(yard, plan, board)
            except (Refused, BadInput) as refusal:
                refused.append(str(refusal))
        return refused

    with open_yard(yard_place, clock=at_noon) as yard, ThreadPoolExecutor(10) as pool:
        refusals = list(pool.map(lambda seed: a_day(yard, seed), range(10)))
        assert any(refusals)
        with yard.open_work(reading=True) as work:
            movements, shown = work.movements.all(), work.stock.shown()
            assert disagreements(movements, shown) == []
            assert MovementKind.ALLOCATE in {movement.kind for movement in movements}
            held = {plan.number: plan.seen for plan in work.plans.find(status=PlanStatus.ALLOCATED)}
            promised = {piece.number: piece.promised_to for piece in work.pieces.find() if piece.promised_to}
            assert promised == {board: plan for plan, seen in held.items() for board in seen}


def allocate(yard: Yard, plan: int, board: str) -> None:
    allocate_plan(yard.open_work, plan)


def release(yard: Yard, plan: int, board: str) -> None:
    release_plan(yard.open_work, plan)


def cut(yard: Yard, plan: int, board: str) -> None:
    cut_plan(yard.open_work, plan)


def measure(yard: Yard, plan: int, board: str) -> None:
    with yard.open_work() as work:
        work.pieces.change(board, bow_mm=work.pieces.get(board).distortion.bow_mm + 1)
        work.commit()


def throw_away(yard: Yard, plan: int, board: str) -> None:
    dispose_board(yard.open_work, board, reason="split from end to end")
