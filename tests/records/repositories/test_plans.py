import pytest

from stockyard.errors import Broken, NotFound
from stockyard.records import Yard
from stockyard.selection.interchange import job_document, plan_document, read_stock
from stockyard.timber.booked_plan import PlanStatus
from tests.builders import a_job
from tests.conftest import NOON
from tests.stocking import a_plan, keep_plan, receive


def test_a_plan_keeps_what_it_was_made_from(yard: Yard) -> None:
    with yard.open_work(who="Ada") as work:
        boards = receive(work, 2)
        work.pieces.change(boards[0], width_mm=170.0)
        plan = a_plan(boards[::-1])
        number = keep_plan(work, plan)
        work.commit()

    with yard.open_work(reading=True) as work:
        kept = work.plans.get(number)
    assert (kept.number, kept.job, kept.job_version, kept.status) == (1, "hall-bench", 1, PlanStatus.PROPOSED)
    assert kept.document == plan_document(plan)
    assert [board.id for board in read_stock(dict(kept.stock)).boards] == boards
    assert kept.seen == {boards[0]: 2, boards[1]: 1}
    assert (kept.at, kept.who) == (NOON, "Ada")


def test_plans_are_counted_from_one_and_found_by_job_and_status(yard: Yard) -> None:
    with yard.open_work() as work:
        boards = receive(work)
        assert [keep_plan(work, a_plan(boards)) for _ in range(3)] == [1, 2, 3]
        work.plans.set_status(2, PlanStatus.PROPOSED, PlanStatus.ALLOCATED)

        assert [plan.number for plan in work.plans.find(job="hall-bench")] == [1, 2, 3]
        assert work.plans.find(job="another") == []
        assert [plan.number for plan in work.plans.find(status=PlanStatus.PROPOSED)] == [1, 3]


def test_a_status_moves_only_from_where_it_was_seen(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        keep_plan(work, a_plan(receive(work)))

        with pytest.raises(Broken, match="not allocated any more"):
            work.plans.set_status(1, PlanStatus.ALLOCATED, PlanStatus.CUT)


def test_there_is_no_such_plan_or_job(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        keep_plan(work, a_plan(receive(work)))
        with pytest.raises(NotFound, match="Did you mean 1"):
            work.plans.get(2)
        with pytest.raises(NotFound, match="Did you mean hall-bench"):
            work.jobs.get("hall-bnch")


def test_a_jobs_document_handed_in_again_is_its_next_version(yard: Yard) -> None:
    first, second = job_document(a_job()), job_document(a_job()) | {"rings": "same"}
    with yard.open_work() as work:
        assert work.jobs.keep("hall-bench", first).version == 1
        assert work.jobs.keep("hall-bench", first).version == 1
        assert work.jobs.keep("hall-bench", second).version == 2

        assert work.jobs.get("hall-bench").document == second
        assert [job.document for job in work.jobs.history("hall-bench")] == [first, second]
        assert [job.name for job in work.jobs.all()] == ["hall-bench"]
