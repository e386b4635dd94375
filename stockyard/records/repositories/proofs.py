"""Proofs that the books are sound, each found by the database itself; an empty list is a proof."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from sqlalchemy import func, or_, select

from stockyard.ledger.agreement import Disagreement
from stockyard.records.columns import Money
from stockyard.records.repositories.repository import Repository, chunks
from stockyard.records.tables import DeliveryRow, MovementLineRow, MovementRow, PieceRow, PlanRow, SupplierRow
from stockyard.timber.booked_plan import PlanStatus
from stockyard.timber.movement import Account, MovementKind


class ProofRepository(Repository):
    """What must hold of the books as a whole. `stock.disagreements` proves movements and pieces."""

    def sizes(self) -> tuple[int, int]:
        """How many movements and how many pieces there are."""
        movements = self._connection.execute(select(func.count()).select_from(MovementRow)).scalar_one()
        return movements, self._connection.execute(select(func.count()).select_from(PieceRow)).scalar_one()

    def value_in_stock(self) -> list[Disagreement]:
        """What pieces on hand and consumables stand for is what was put in less what was expensed."""
        line = MovementLineRow
        shown = self._connection.execute(
            select(func.sum(PieceRow.value, type_=Money())).where(PieceRow.on_hand == 1)
        ).scalar()
        other = self._connection.execute(
            select(func.sum(line.value, type_=Money())).where(
                line.account.not_in((Account.STOCK, Account.SUPPLIES))
            )
        ).scalar()
        shelved = sum((shelf.value for shelf in self._work.supplies.shelves().values()), Decimal(0))
        shown, left = (shown or Decimal(0)) + shelved, -(other or Decimal(0))
        if shown == left:
            return []
        return [
            Disagreement(
                "stock", f"{shown} in pieces on hand and consumables", f"{left} bought less expensed"
            )
        ]

    def gone_pieces(self) -> list[Disagreement]:
        """A piece that is gone stands for nothing, fills nothing and is promised to nobody."""
        rows = self._connection.execute(
            select(PieceRow.number, PieceRow.value, PieceRow.volume_mm3, PieceRow.promised_plan_id)
            .where(
                PieceRow.on_hand == 0,
                or_(PieceRow.value != 0, PieceRow.volume_mm3 != 0, PieceRow.promised_plan_id.is_not(None)),
            )
            .order_by(PieceRow.number)
        )
        return [
            Disagreement(
                number,
                "gone",
                f"value {value}, volume {volume} mm3{', promised' if plan is not None else ''}",
            )
            for number, value, volume, plan in rows
        ]

    def promises(self) -> list[Disagreement]:
        """A promised piece is promised to a plan that is allocated."""
        rows = self._connection.execute(
            select(PieceRow.number, PlanRow.number, PlanRow.status)
            .join(PlanRow, PlanRow.id == PieceRow.promised_plan_id)
            .where(PlanRow.status != PlanStatus.ALLOCATED)
            .order_by(PieceRow.number)
        )
        return [
            Disagreement(number, f"promised to plan {plan}", f"a plan that is {status}")
            for number, plan, status in rows
        ]

    def purchases(self) -> list[Disagreement]:
        """Every delivery was booked at what its docket comes to without the tax that comes back."""
        line = MovementLineRow
        booked = (
            select(MovementRow.delivery_id, func.sum(line.value, type_=Money()).label("value"))
            .join(line, line.movement_id == MovementRow.id)
            .where(MovementRow.kind == MovementKind.RECEIVE, line.account == Account.SUPPLIERS)
            .group_by(MovementRow.delivery_id)
            .subquery()
        )
        rows = self._connection.execute(
            select(DeliveryRow.docket, SupplierRow.name, DeliveryRow.total, DeliveryRow.tax, booked.c.value)
            .join(SupplierRow, SupplierRow.id == DeliveryRow.supplier_id)
            .outerjoin(booked, booked.c.delivery_id == DeliveryRow.id)
            .order_by(DeliveryRow.id)
        )
        return [
            Disagreement(
                f"docket {docket} of {supplier}",
                f"{total - tax} without tax",
                f"{-(value or Decimal(0))} booked",
            )
            for docket, supplier, total, tax, value in rows
            if total - tax != -(value or Decimal(0))
        ]

    def accounts(self) -> list[Disagreement]:
        """Value lies only in accounts of the chart."""
        line = MovementLineRow
        rows = self._connection.execute(
            select(line.account, func.sum(line.value, type_=Money()))
            .where(line.account.not_in([account.value for account in Account]))
            .group_by(line.account)
            .order_by(line.account)
        )
        return [
            Disagreement(f"account {name}", str(value), "an account nobody knows") for name, value in rows
        ]

    def written_down(self, numbers: Iterable[str] | None = None) -> dict[str, Decimal]:
        """By number, how far below its cost each piece was written and not taken back; only those that were.

        numbers: these pieces; all of them when None.
        """
        line, original = MovementLineRow, MovementRow.__table__.alias("original")
        kinds = (MovementKind.WRITE_DOWN, MovementKind.WRITE_UP)
        total = func.sum(line.value, type_=Money())
        asked = (
            select(PieceRow.number, total)
            .join(line, line.piece_id == PieceRow.id)
            .join(MovementRow, MovementRow.id == line.movement_id)
            .outerjoin(original, original.c.id == MovementRow.reverses_id)
            .where(or_(MovementRow.kind.in_(kinds), original.c.kind.in_(kinds)))
            .group_by(PieceRow.number)
            .having(func.sum(line.value) != 0)
        )
        found: dict[str, Decimal] = {}
        for some in [None] if numbers is None else chunks(numbers):
            rows = self._connection.execute(asked if some is None else asked.where(PieceRow.number.in_(some)))
            found.update({number: -value for number, value in rows if value is not None})
        return found

    def above_cost(self) -> list[Disagreement]:
        """Nothing was written up by more than it had been written down."""
        return [
            Disagreement(number, f"written up by {-below}", "at most what it had been written down")
            for number, below in sorted(self.written_down().items())
            if below < 0
        ]

    def shelves(self) -> list[Disagreement]:
        """No consumable is below nothing, and an empty shelf stands for nothing."""
        return [
            Disagreement(
                name, f"{shelf.quantity:f} worth {shelf.value}", "below nothing, or worth without any"
            )
            for name, shelf in sorted(self._work.supplies.shelves().items())
            if shelf.quantity < 0 or shelf.value < 0 or (shelf.value and not shelf.quantity)
        ]

    def reversals(self) -> list[Disagreement]:
        """A movement and the one that takes it back add up to nothing, piece by piece, account by account."""
        line = MovementLineRow
        pair = func.coalesce(MovementRow.reverses_id, MovementRow.id)
        taken_back = select(MovementRow.reverses_id).where(MovementRow.reverses_id.is_not(None))
        sums = (line.on_hand, line.promised, line.value, line.volume_mm3, func.coalesce(line.quantity, 0))
        left: Any = (
            select(pair.label("pair"))
            .join(line, line.movement_id == MovementRow.id)
            .where(or_(MovementRow.reverses_id.is_not(None), MovementRow.id.in_(taken_back)))
            .group_by(pair, line.piece_id, line.account, line.job_id, line.supply_id)
            .having(or_(*(func.sum(each) != 0 for each in sums)))
            .distinct()
            .subquery()
        )
        rows = self._connection.execute(select(left.c.pair).order_by(left.c.pair)).scalars()
        return [Disagreement(f"movement {id_}", "taken back", "something of it left") for id_ in rows]

    def store(self) -> list[Disagreement]:
        """The database file is whole. A PostgreSQL server proves its own files and references as it goes."""
        if self._connection.dialect.name != "sqlite":
            return []
        told = self._connection.exec_driver_sql("PRAGMA integrity_check").scalars().all()
        found = [Disagreement("the file", "whole", str(each)) for each in told if each != "ok"]
        loose: Any = self._connection.exec_driver_sql("PRAGMA foreign_key_check").all()
        return found + [
            Disagreement(f"{table}, row {row}", f"a {parent}", "none that is there")
            for table, row, parent, _ in loose
        ]
