"""Keep jobs: the panels a piece of furniture asks for, as a stockyard.job/1 document."""

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from stockyard.errors import BadInput, ChangedMeanwhile, Fault
from stockyard.selection.interchange import job_document, read_job
from stockyard.timber import Job
from stockyard.timber.booked_plan import BookedJob
from stockyard.timber.species import SpeciesTable

if TYPE_CHECKING:
    from stockyard.records.connect import OpenWork
    from stockyard.records.unit_of_work import UnitOfWork

HABITS = "job_habits"
"""The workshop setting that holds its own allowances, rules and costs, as the job document words them."""


def add_job(open_work: "OpenWork", content: bytes, *, seen: int | None = None) -> BookedJob:
    """Keep a job document; under a name already known it becomes that job's next version.

    What it leaves out is not written into it: it follows the workshop's habits as they are when it is
    planned. seen: the version that whoever hands it in has read, 0 for none. Raises BadInput with every fault
    and its place in the document, and ChangedMeanwhile where another version stands than the one seen.
    """
    with open_work() as work:
        job = read_job(content, habits_of(work))
        _with_yard_names(job, work.species.table())
        stands = {each.name: each.version for each in work.jobs.all()}.get(job.id, 0)
        if seen is not None and stands != seen:
            raise ChangedMeanwhile(
                f"Job {job.id} has been changed since you read it; look at it again, then do it again."
                if seen
                else f"There is a job {job.id} already; give this one another name, or change that one."
            )
        booked = work.jobs.keep(job.id, _loaded(content))
        work.commit()
    return booked


def list_jobs(open_work: "OpenWork") -> tuple[BookedJob, ...]:
    """Every job, by name."""
    with open_work(reading=True) as work:
        return work.jobs.all()


def show_job(open_work: "OpenWork", name: str) -> tuple[BookedJob, Job]:
    """A job as kept, and as it reads today with the workshop's habits filled in.

    Raises NotFound, with near names.
    """
    with open_work(reading=True) as work:
        booked = work.jobs.get(name)
        return booked, job_of(work, booked)


def usual_job(open_work: "OpenWork") -> Job:
    """A job without panels, with every setting as the workshop has it."""
    with open_work(reading=True) as work:
        return habits_of(work) or Job(id="", panels=())


def set_habits(open_work: "OpenWork", content: bytes) -> Job:
    """Make a document's settings the workshop's habits from now on; its panels are not kept.

    content: a stockyard.job/1 document. Raises BadInput with every fault.
    """
    with open_work() as work:
        job = read_job(content)
        work.workshop.set(HABITS, job_document(job))
        work.commit()
    return job


def document_of(job: Job) -> dict[str, Any]:
    """The stockyard.job/1 document that states a job in full."""
    return job_document(job)


def job_of(work: "UnitOfWork", booked: BookedJob) -> Job:
    """The job's values, what it leaves out taken from the workshop's habits, species by the yard's names."""
    return _with_yard_names(read_job(dict(booked.document), habits_of(work)), work.species.table())


def habits_of(work: "UnitOfWork") -> Job | None:
    """The workshop's own settings for jobs, or None while it has none of its own."""
    kept = work.workshop.get(HABITS)
    return None if kept is None else read_job(kept)


def _with_yard_names(job: Job, known: SpeciesTable) -> Job:
    """The job with aliases such as "blackwood" as the boards call them. Raises BadInput for unknown ones."""
    faults = [
        Fault(
            f"panels[{index}].species",
            f"a species the yard knows{_like(known.near(name))}",
            repr(name),
        )
        for index, panel in enumerate(job.panels)
        for name in panel.species
        if name not in known
    ]
    if faults:
        raise BadInput(f"Job {job.id} asks for a species that the yard does not know.", faults)
    return replace(
        job,
        panels=tuple(
            replace(panel, species=tuple(dict.fromkeys(known.named(name).name for name in panel.species)))
            for panel in job.panels
        ),
    )


def _like(near: tuple[str, ...]) -> str:
    return f" (is it {' or '.join(near)}?)" if near else ""


def _loaded(content: bytes) -> dict[str, Any]:
    import json

    loaded: dict[str, Any] = json.loads(content.decode("utf-8-sig"))
    return loaded
