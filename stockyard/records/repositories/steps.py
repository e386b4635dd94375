"""Steps to be done to defects, and what was done."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from typing import Any

from sqlalchemy import insert, select, update

from stockyard.errors import Broken, NotFound
from stockyard.records.repositories.repository import Repository
from stockyard.records.tables import DefectRow, PieceRow, PlanRow, StepRow
from stockyard.timber.step import Step, StepState


class StepRepository(Repository):
    """Steps by number, in the order they were asked for."""

    def add(self, steps: Iterable[Step]) -> None:
        """Ask for steps. Raises NotFound for a plan, piece or defect that is not there."""
        steps = list(steps)
        plans = self._work.plans.row_ids({step.plan for step in steps})
        pieces = self._work.pieces.row_ids({step.piece for step in steps})
        defects = self._work.defects.row_ids({step.defect for step in steps})
        rows = [
            {
                "plan_id": plans[step.plan],
                "piece_id": pieces[step.piece],
                "defect_id": defects[step.defect],
                "kind": step.kind,
                "method": step.method,
                "quantity": step.quantity,
                "before": step.before,
                "state": step.state,
                "product": step.product,
                "batch": step.batch,
                "done_on": step.done_on,
                "done_by": step.done_by,
            }
            for step in steps
        ]
        if rows:
            self._connection.execute(insert(StepRow), rows)

    def get(self, id_: int) -> Step:
        """The step of that number. Raises NotFound."""
        found = self._steps(StepRow.id == id_)
        if not found:
            raise NotFound("step", str(id_))
        return found[0]

    def find(
        self, *, state: StepState | None = None, plan: int | None = None, piece: str | None = None
    ) -> list[Step]:
        """Steps in order, of one state, plan or piece if so asked."""
        wanted: list[Any] = []
        if state is not None:
            wanted.append(StepRow.state == state)
        if plan is not None:
            wanted.append(PlanRow.number == plan)
        if piece is not None:
            wanted.append(PieceRow.number == piece)
        return self._steps(*wanted)

    def done(self, id_: int, product: str, batch: str, done_on: date, done_by: str) -> None:
        """Note an open step as done. Raises Broken when it is not open."""
        self._close(id_, state=StepState.DONE, product=product, batch=batch, done_on=done_on, done_by=done_by)

    def drop(self, id_: int) -> None:
        """Note an open step as no longer needed. Raises Broken when it is not open."""
        self._close(id_, state=StepState.DROPPED)

    def carry(self, id_: int, piece: str, defect: str) -> None:
        """Let a step follow its defect to the piece that was cut with it. Raises NotFound."""
        self._connection.execute(
            update(StepRow)
            .where(StepRow.id == id_)
            .values(
                piece_id=self._work.pieces.row_ids([piece])[piece],
                defect_id=self._work.defects.row_ids([defect])[defect],
            )
        )

    def copy(self, id_: int, piece: str, defect: str) -> None:
        """Ask for a step once more, on another piece that took a part of the same defect along."""
        self.add([replace(self.get(id_), piece=piece, defect=defect)])

    def _close(self, id_: int, **values: Any) -> None:
        changed = self._connection.execute(
            update(StepRow).where(StepRow.id == id_, StepRow.state == StepState.OPEN).values(**values)
        )
        if changed.rowcount != 1:
            raise Broken(f"Step {id_} is not open any more.")

    def _steps(self, *wanted: Any) -> list[Step]:
        rows = self._connection.execute(
            select(
                PlanRow.number,
                PieceRow.number,
                DefectRow.number,
                StepRow.kind,
                StepRow.method,
                StepRow.before,
                StepRow.quantity,
                StepRow.state,
                StepRow.product,
                StepRow.batch,
                StepRow.done_on,
                StepRow.done_by,
                StepRow.id,
            )
            .join(PlanRow, PlanRow.id == StepRow.plan_id)
            .join(PieceRow, PieceRow.id == StepRow.piece_id)
            .join(DefectRow, DefectRow.id == StepRow.defect_id)
            .where(*wanted)
            .order_by(StepRow.id)
        )
        return [Step(plan, piece, f"{piece}/{defect}", *rest) for plan, piece, defect, *rest in rows]
