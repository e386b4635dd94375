"""Proofs that the books are sound, each found by the database itself; an empty list is a proof."""

from decimal import Decimal
from typing import Any

from sqlalchemy import func, or_, select

from stockyard.ledger.agreement import Disagreement
from stockyard.records.columns import Money
from stockyard.records.repositories.repository import Repository
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
        """What the pieces on hand stand for is what came in from suppliers less what was expensed."""
        line = MovementLineRow
        shown = self._connection.execute(
            select(func.sum(PieceRow.value, type_=Money())).where(PieceRow.on_hand == 1)
        ).scalar()
        other = self._connection.execute(
            select(func.sum(line.value, type_=Money())).where(line.account != Account.STOCK)
        ).scalar()
        shown, left = shown or Decimal(0), -(other or Decimal(0))
        if shown == left:
            return []
        return [Disagreement("stock", f"{shown} in pieces on hand", f"{left} bought less expensed")]

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
