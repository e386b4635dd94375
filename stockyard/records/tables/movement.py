"""The ledger's tables: movements and their lines. The database itself refuses to change or delete either."""

from datetime import date
from decimal import Decimal

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from stockyard.records.columns import Day, Id, Money, Quantity, Sentence, Word, one_of
from stockyard.records.tables.base import Base, Signed
from stockyard.timber.movement import MovementKind


class MovementRow(Signed, Base):
    """Something that happened to the stock: what kind, on which day it counts, why, and who wrote it down."""

    __tablename__ = "movement"
    __table_args__ = (Index(None, "effective"), Index(None, "plan_id"), Index(None, "delivery_id"))

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    kind: Mapped[MovementKind] = mapped_column(one_of(MovementKind, "kind"))
    effective: Mapped[date] = mapped_column(Day)
    cause: Mapped[str] = mapped_column(Sentence)
    plan_id: Mapped[int | None] = mapped_column(ForeignKey("plan.id"))
    delivery_id: Mapped[int | None] = mapped_column(ForeignKey("delivery.id"))
    # Unique: a movement can be taken back once.
    reverses_id: Mapped[int | None] = mapped_column(ForeignKey("movement.id"), unique=True)


class MovementLineRow(Base):
    """One piece's, or one account's, part of a movement. The values of a movement's lines add up to nothing.

    effective repeats the movement's, so that stock on a date is summed without a join.
    account is not held to a list by the database: the chart of accounts grows without rebuilding this table.
    """

    __tablename__ = "movement_line"
    __table_args__ = (
        CheckConstraint("(piece_id IS NOT NULL) = (account = 'stock')", name="stock_is_pieces"),
        CheckConstraint("on_hand BETWEEN -1 AND 1 AND promised BETWEEN -1 AND 1", name="one_piece"),
        Index(None, "movement_id"),
        Index(None, "piece_id", "effective"),
        CheckConstraint(
            "(supply_id IS NOT NULL) = (account = 'supplies')"
            " AND (supply_id IS NULL OR quantity IS NOT NULL)",
            name="supplies_are_counted",
        ),
        Index(None, "account", "effective"),
    )

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    movement_id: Mapped[int] = mapped_column(ForeignKey("movement.id"))
    effective: Mapped[date] = mapped_column(Day)
    account: Mapped[str] = mapped_column(Word)
    piece_id: Mapped[int | None] = mapped_column(ForeignKey("piece.id"))
    job_id: Mapped[int | None] = mapped_column(ForeignKey("job.id"))
    on_hand: Mapped[int] = mapped_column(Id)
    promised: Mapped[int] = mapped_column(Id)
    value: Mapped[Decimal] = mapped_column(Money)
    volume_mm3: Mapped[int] = mapped_column(Id)
    supply_id: Mapped[int | None] = mapped_column(ForeignKey("supply.id"))
    quantity: Mapped[Decimal | None] = mapped_column(Quantity)
