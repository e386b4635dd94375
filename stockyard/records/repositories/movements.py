"""The ledger's book: movements are appended, what pieces show is brought along, nothing is ever changed."""

from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import case, func, insert, or_, select, update
from sqlalchemy.exc import IntegrityError

from stockyard.errors import Broken, NotFound, Refused
from stockyard.ledger.balance import imbalance
from stockyard.records.repositories.repository import Repository, chunks
from stockyard.records.tables import (
    DeliveryRow,
    JobRow,
    MovementLineRow,
    MovementRow,
    PieceRow,
    PlanRow,
    SupplierRow,
    SupplyRow,
)
from stockyard.timber.movement import Account, Line, Movement, MovementKind

SEEN_BY_PLANS = (
    MovementKind.WRITE_DOWN,
    MovementKind.WRITE_UP,
    MovementKind.ADD_COST,
    MovementKind.REVERSE,
)
"""Kinds that may change what a board is worth while plans rest on it."""


class MovementRepository(Repository):
    """Movements of stock and value, in the order they were booked."""

    def book(self, movement: Movement) -> int:
        """Append a movement and bring the pieces it touches along. Returns its number in the book.

        Raises Broken when its values do not add up to nothing or a piece would be on hand or promised twice,
        and Refused when it takes back what was taken back before, or counts from a day before the newest
        movement of one of its pieces.
        """
        left = imbalance(movement)
        if left:
            raise Broken(f"A movement ({movement.kind}) does not balance: {left} too much.")
        pieces = self._work.pieces.lock(line.piece for line in movement.lines if line.piece is not None)
        if movement.effective < self._work.today:
            self._refuse_out_of_order(movement, pieces)
        jobs = self._work.jobs.row_ids({line.job for line in movement.lines if line.job is not None})
        supplies = self._work.supplies.lock(line.supply for line in movement.lines if line.supply is not None)
        id_ = self._book_head(movement)
        rows = [
            {
                "movement_id": id_,
                "effective": movement.effective,
                "account": line.account,
                "piece_id": None if line.piece is None else pieces[line.piece],
                "job_id": None if line.job is None else jobs[line.job],
                "on_hand": line.on_hand,
                "promised": line.promised,
                "value": line.value,
                "volume_mm3": line.volume_mm3,
                "supply_id": None if line.supply is None else supplies[line.supply],
                "quantity": None if line.supply is None else line.quantity,
            }
            for line in movement.lines
        ]
        if rows:
            self._connection.execute(insert(MovementLineRow), rows)
        if movement.kind in SEEN_BY_PLANS:
            self._note_values(movement, pieces)
        self._bring_along(id_, movement)
        return id_

    def get(self, id_: int) -> Movement:
        """The movement of that number. Raises NotFound."""
        found = self._movements([id_])
        if not found:
            raise NotFound("movement", str(id_))
        return found[0]

    def of_piece(self, number: str) -> list[Movement]:
        """Every movement that touched a piece, the oldest first, with all its lines."""
        piece = self._work.pieces.row_ids([number])[number]
        ids = self._connection.execute(
            select(MovementLineRow.movement_id).where(MovementLineRow.piece_id == piece).distinct()
        )
        return self._movements(ids.scalars())

    def of_supply(self, name: str) -> list[Movement]:
        """Every movement of a consumable, in the order booked."""
        ids = self._connection.execute(
            select(MovementLineRow.movement_id)
            .join(SupplyRow, SupplyRow.id == MovementLineRow.supply_id)
            .where(MovementLineRow.account == Account.SUPPLIES, SupplyRow.name == name)
            .distinct()
        )
        return self._movements(ids.scalars())

    def of_plan(self, number: int) -> list[Movement]:
        """Every movement of a plan, the oldest first."""
        ids = self._connection.execute(
            select(MovementRow.id)
            .join(PlanRow, PlanRow.id == MovementRow.plan_id)
            .where(PlanRow.number == number)
        )
        return self._movements(ids.scalars())

    def all(self, until: date | None = None) -> list[Movement]:
        """Every movement that counts by the end of `until`, in the order they were booked."""
        asked = select(MovementRow.id)
        if until is not None:
            asked = asked.where(MovementRow.effective <= until)
        return self._movements(self._connection.execute(asked).scalars())

    def latest_at(self) -> datetime | None:
        """When the latest entry was made, aware; None of an empty book."""
        return self._connection.execute(select(func.max(MovementRow.at))).scalar()

    def reversed_by(self, id_: int) -> int | None:
        """The movement that took this one back, or None."""
        return self._connection.execute(select(MovementRow.id).where(MovementRow.reverses_id == id_)).scalar()

    def job_cost(self, job: str) -> Decimal:
        """What a job has used up so far: the value of everything expensed to it."""
        spent = self._connection.execute(
            select(func.sum(MovementLineRow.value))
            .join(JobRow, JobRow.id == MovementLineRow.job_id)
            .where(JobRow.name == job, MovementLineRow.account == Account.JOBS)
        ).scalar()
        return spent or Decimal(0)

    def _refuse_out_of_order(self, movement: Movement, pieces: dict[str, int]) -> None:
        """On no day may a piece have gone before it came, or been worth less than nothing.

        A promise changes neither, and may have been written down after the cut it was for.
        """
        line = MovementLineRow
        newest = func.max(line.effective)
        for some in chunks(pieces.values()):
            later = self._connection.execute(
                select(PieceRow.number, newest)
                .join(line, line.piece_id == PieceRow.id)
                .where(line.piece_id.in_(some), or_(line.on_hand != 0, line.value != 0, line.volume_mm3 != 0))
                .group_by(PieceRow.number)
                .having(newest > movement.effective)
                .order_by(PieceRow.number)
            ).first()
            if later is not None:
                raise Refused(
                    f"{later[0]} has a movement of {later[1]}; nothing of it can count from"
                    f" {movement.effective}, before that. Give that day or a later one."
                )

    def _book_head(self, movement: Movement) -> int:
        plan_id = None
        if movement.plan is not None:
            plan_id = self._work.plans.row_ids({movement.plan})[movement.plan]
        delivery_id = None
        if movement.supplier is not None and movement.docket is not None:
            delivery_id = self._work.deliveries.row_id(movement.supplier, movement.docket)
        row = {
            "kind": movement.kind,
            "effective": movement.effective,
            "cause": movement.cause,
            "plan_id": plan_id,
            "delivery_id": delivery_id,
            "reverses_id": movement.reverses,
            **self._signature,
        }
        try:
            return self._connection.execute(insert(MovementRow).returning(MovementRow.id), row).scalar_one()
        except IntegrityError:
            raise Refused(f"Movement {movement.reverses} has been taken back already.") from None

    def _bring_along(self, id_: int, movement: Movement) -> None:
        plan = None
        if movement.plan is not None:
            plan = self._work.plans.row_ids({movement.plan})[movement.plan]
        line = MovementLineRow
        sums = (
            select(
                line.piece_id,
                func.sum(line.on_hand).label("on_hand"),
                func.sum(line.promised).label("promised"),
                func.sum(line.value).label("value"),
                func.sum(line.volume_mm3).label("volume_mm3"),
            )
            .where(line.movement_id == id_, line.piece_id.is_not(None))
            .group_by(line.piece_id)
            .subquery()
        )
        statement = (
            update(PieceRow)
            .where(PieceRow.id == sums.c.piece_id)
            .values(
                on_hand=PieceRow.on_hand + sums.c.on_hand,
                value=PieceRow.value + sums.c.value,
                volume_mm3=PieceRow.volume_mm3 + sums.c.volume_mm3,
                promised_plan_id=case(
                    (sums.c.promised > 0, plan),
                    (sums.c.promised < 0, None),
                    else_=PieceRow.promised_plan_id,
                ),
                ended_by=case(
                    (sums.c.on_hand < 0, movement.kind.value),
                    (sums.c.on_hand > 0, None),
                    else_=PieceRow.ended_by,
                ),
            )
        )
        try:
            self._connection.execute(statement)
        except IntegrityError as error:
            raise Broken(
                f"A movement ({movement.kind}) would leave a piece on hand twice or below zero: {error.orig}"
            ) from error

    def _note_values(self, movement: Movement, pieces: dict[str, int]) -> None:
        changes: dict[int, tuple[str, Any, Any]] = {}
        standing = self._work.pieces.get_many(pieces)
        for line in movement.lines:
            if line.piece is not None and line.value:
                was = standing[line.piece].value
                changes[pieces[line.piece]] = ("value", str(was), str(was + line.value))
        self._work.pieces.bump(changes, movement.cause)

    def _movements(self, ids: Iterable[int]) -> list[Movement]:
        wanted = sorted(set(ids))
        reversals: dict[int, list[Line]] = {}
        heads: dict[int, Any] = {}
        for some in chunks(wanted):
            asked = (
                select(
                    MovementRow.id,
                    MovementRow.kind,
                    MovementRow.effective,
                    MovementRow.cause,
                    PlanRow.number,
                    SupplierRow.name,
                    DeliveryRow.docket,
                    MovementRow.reverses_id,
                    MovementRow.at,
                    MovementRow.who,
                )
                .outerjoin(PlanRow, PlanRow.id == MovementRow.plan_id)
                .outerjoin(DeliveryRow, DeliveryRow.id == MovementRow.delivery_id)
                .outerjoin(SupplierRow, SupplierRow.id == DeliveryRow.supplier_id)
                .where(MovementRow.id.in_(some))
            )
            heads.update({row[0]: row for row in self._connection.execute(asked)})
            for movement_id, line in self._lines(some):
                reversals.setdefault(movement_id, []).append(line)
        return [
            Movement(
                kind=kind,
                lines=tuple(reversals.get(id_, ())),
                effective=effective,
                cause=cause,
                plan=plan,
                supplier=supplier,
                docket=docket,
                reverses=reverses,
                id=id_,
                at=at,
                who=who,
            )
            for id_, kind, effective, cause, plan, supplier, docket, reverses, at, who in (
                heads[id_] for id_ in wanted if id_ in heads
            )
        ]

    def _lines(self, ids: Iterable[int]) -> Iterable[tuple[int, Line]]:
        rows = self._connection.execute(
            select(
                MovementLineRow.movement_id,
                PieceRow.number,
                MovementLineRow.on_hand,
                MovementLineRow.promised,
                MovementLineRow.value,
                MovementLineRow.volume_mm3,
                MovementLineRow.account,
                JobRow.name,
                SupplyRow.name,
                MovementLineRow.quantity,
            )
            .outerjoin(SupplyRow, SupplyRow.id == MovementLineRow.supply_id)
            .outerjoin(PieceRow, PieceRow.id == MovementLineRow.piece_id)
            .outerjoin(JobRow, JobRow.id == MovementLineRow.job_id)
            .where(MovementLineRow.movement_id.in_(ids))
            .order_by(MovementLineRow.id)
        )
        for movement_id, piece, on_hand, promised, value, volume, account, job, supply, quantity in rows:
            yield (
                movement_id,
                Line(
                    piece,
                    on_hand,
                    promised,
                    value,
                    volume,
                    Account(account),
                    job,
                    supply,
                    Decimal(0) if quantity is None else quantity,
                ),
            )
