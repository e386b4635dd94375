"""Steps: see what is to be done to defects, and note what was done."""

from datetime import date
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault, Refused
from stockyard.records import retried
from stockyard.timber.step import Step, StepState

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork


def list_steps(
    open_work: "OpenWork",
    *,
    plan: int | None = None,
    piece: str | None = None,
    only_open: bool = True,
) -> list[Step]:
    """Steps in the order they were asked for, of one plan or piece if so asked.

    only_open: leave out those done and dropped.

    Raises NotFound for a plan or a piece that is not there.
    """
    with open_work(reading=True) as work:
        if plan is not None:
            work.plans.get(plan)
        if piece is not None:
            work.pieces.get(piece)
        return work.steps.find(state=StepState.OPEN if only_open else None, plan=plan, piece=piece)


def complete_step(
    open_work: "OpenWork",
    id_: int,
    *,
    product: str,
    batch: str = "",
    done_on: date | None = None,
    done_by: str | None = None,
    who: str = "",
) -> Step:
    """Note a step as done, and its defect as stabilised or filled.

    product, batch: what was used. done_on: today when not given. done_by: whoever notes it when not given.
    Raises NotFound, BadInput with every fault, and Refused when the step is not open.
    """
    return retried(
        open_work,
        lambda work: _complete(work, id_, product.strip(), batch.strip(), done_on, done_by),
        who=who,
    )


def _complete(
    work: "UnitOfWork", id_: int, product: str, batch: str, done_on: date | None, done_by: str | None
) -> Step:
    step = work.steps.get(id_)
    day = done_on or work.today
    faults = []
    if not product:
        faults.append(Fault("product", "what was used, as on its label"))
    if day > work.today:
        faults.append(Fault("date", f"a day up to today, {work.today}", str(day)))
    if faults:
        raise BadInput(f"Step {id_} cannot be noted as done.", faults)
    work.pieces.lock([step.piece])
    if work.steps.get(id_).state is not StepState.OPEN:
        raise Refused(f"Step {id_} is {work.steps.get(id_).state} already.")
    work.steps.done(id_, product, batch, day, done_by or work.who)
    if not work.defects.get(step.defect).removed:
        used = f"{product}, batch {batch}" if batch else product
        work.defects.edit(step.defect, state=step.kind.leaves, cause=f"step {id_}: {used}")
    return work.steps.get(id_)
