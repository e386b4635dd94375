import pytest

from stockyard.errors import Refused
from stockyard.records import Contended, UnitOfWork, Yard, retried
from stockyard.records.retry import ATTEMPTS
from tests.stocking import receive


def test_work_that_was_turned_away_is_done_again_from_the_start(yard: Yard) -> None:
    attempts = []

    def once_in_the_way(work: UnitOfWork) -> list[str]:
        numbers = receive(work)
        attempts.append(numbers)
        if len(attempts) == 1:
            raise Contended("someone was first")
        return numbers

    assert retried(yard.open_work, once_in_the_way, who="Bo") == ["SG-0001"]
    assert attempts == [["SG-0001"], ["SG-0001"]]
    with yard.open_work(reading=True) as work:
        assert [movement.who for movement in work.movements.all()] == ["Bo"]


def test_it_gives_up_politely(sqlite_yard: Yard) -> None:
    attempts = []

    def always_in_the_way(work: UnitOfWork) -> None:
        attempts.append(work)
        raise Contended("someone is always first")

    with pytest.raises(Contended, match="someone is always first"):
        retried(sqlite_yard.open_work, always_in_the_way)
    assert len(attempts) == ATTEMPTS


def test_a_refusal_is_final(sqlite_yard: Yard) -> None:
    attempts = []

    def refused(work: UnitOfWork) -> None:
        attempts.append(work)
        raise Refused("no")

    with pytest.raises(Refused):
        retried(sqlite_yard.open_work, refused)
    assert len(attempts) == 1


def test_two_that_wait_for_each_other_both_get_done(postgres_yard: Yard) -> None:
    """Each holds one board and asks for the other's: PostgreSQL turns one away, and it is done again."""
    import threading

    with postgres_yard.open_work() as work:
        first, second = receive(work, 2)
        work.commit()
    met = threading.Barrier(2, timeout=20)
    done, meetings = [], []

    def hold_both(one: str, other: str) -> None:
        def both(work: UnitOfWork) -> None:
            work.pieces.change(one, note=f"held before {other}")
            if len(meetings) < 2:
                meetings.append(one)
                met.wait()
            work.pieces.change(other, note=f"held after {one}")

        retried(postgres_yard.open_work, both)
        done.append(one)

    threads = [threading.Thread(target=hold_both, args=pair) for pair in ((first, second), (second, first))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert sorted(done) == [first, second]
