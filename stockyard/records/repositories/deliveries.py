"""Deliveries, each booked once."""

from decimal import Decimal
from typing import Any

from sqlalchemy import Row, exists, func, insert, select
from sqlalchemy.exc import IntegrityError

from stockyard.errors import AlreadyBooked, BadInput, NotFound
from stockyard.records.columns import Money
from stockyard.records.repositories.repository import Repository, near
from stockyard.records.tables import (
    DeliveryRow,
    MovementLineRow,
    MovementRow,
    PieceRow,
    SpeciesRow,
    SupplierRow,
)
from stockyard.timber.delivery import Delivery
from stockyard.timber.movement import MovementKind

_COLUMNS = (
    SupplierRow.name,
    DeliveryRow.docket,
    DeliveryRow.received_on,
    DeliveryRow.currency,
    DeliveryRow.measure,
    DeliveryRow.goods,
    DeliveryRow.charges,
    DeliveryRow.tax,
    DeliveryRow.total,
    DeliveryRow.provenance,
    DeliveryRow.source_file,
    DeliveryRow.source_sha256,
    DeliveryRow.at,
    DeliveryRow.who,
)


class DeliveryRepository(Repository):
    """Deliveries by supplier and docket."""

    def add(self, delivery: Delivery) -> None:
        """Book a delivery, and its supplier when new. Raises AlreadyBooked when it stands in the books."""
        already = self.find(delivery.supplier, delivery.docket)
        if already is not None:
            raise AlreadyBooked(_already(already))
        supplier_id = self._work.suppliers.row_id_for(delivery.supplier)
        docket = delivery.docket.strip()
        attempts = self._connection.execute(
            select(func.count()).where(DeliveryRow.supplier_id == supplier_id, DeliveryRow.docket == docket)
        ).scalar_one()
        row = {
            "supplier_id": supplier_id,
            "docket": docket,
            "attempt": attempts + 1,
            "received_on": delivery.received_on,
            "currency": delivery.currency,
            "measure": delivery.measure,
            "goods": delivery.goods,
            "charges": {name: str(amount) for name, amount in delivery.charges.items()},
            "tax": delivery.tax,
            "total": delivery.total,
            "provenance": dict(delivery.provenance),
            "source_file": delivery.source_file,
            "source_sha256": delivery.source_sha256,
            **self._signature,
        }
        try:
            self._connection.execute(insert(DeliveryRow), row)
        except IntegrityError:
            # Two received the same docket at once, and the other was first.
            raise AlreadyBooked(
                f"Docket {docket} of {delivery.supplier} has just been received; look at it before going on."
            ) from None

    def find(self, supplier: str, docket: str) -> Delivery | None:
        """The delivery that stands for a supplier's docket, or None: a reversed one may come again."""
        supplier_id = self._work.suppliers.row_id(supplier)
        if supplier_id is None:
            return None
        row = self._connection.execute(
            self._standing()
            .where(DeliveryRow.supplier_id == supplier_id, DeliveryRow.docket == docket.strip())
            .order_by(DeliveryRow.id.desc())
        ).first()
        return None if row is None else _delivery(row)

    def get(self, docket: str, supplier: str | None = None) -> Delivery:
        """The delivery of that docket. Raises NotFound, or BadInput when several suppliers have used it."""
        found = [each for each in self.all() if each.docket == docket.strip()]
        if supplier is not None:
            wanted = self._work.suppliers.get(supplier).name
            found = [each for each in found if each.supplier == wanted]
        if not found:
            raise NotFound("docket", docket, near(docket, {each.docket for each in self.all()}))
        if len(found) > 1:
            raise BadInput(
                f"Docket {docket} came from {' and '.join(each.supplier for each in found)}; name one."
            )
        return found[0]

    def all(self) -> tuple[Delivery, ...]:
        """Every delivery that stands, the oldest first."""
        rows = self._connection.execute(self._standing().order_by(DeliveryRow.received_on, DeliveryRow.id))
        return tuple(_delivery(row) for row in rows)

    def received(self, supplier: str | None = None, species: str | None = None) -> list[tuple[Any, ...]]:
        """What came, by docket, species and thickness; what was taken back is left out.

        Day, supplier, docket, species, thickness [mm], pieces, volume as received [mm3] and landed cost.
        """
        line, back = MovementLineRow, MovementRow.__table__.alias("back")
        keys = (
            DeliveryRow.received_on,
            SupplierRow.name,
            DeliveryRow.docket,
            SpeciesRow.name,
            PieceRow.thickness_mm,
        )
        asked = (
            select(*keys, func.count(), func.sum(line.volume_mm3), func.sum(line.value, type_=Money()))
            .join(MovementRow, MovementRow.id == line.movement_id)
            .join(DeliveryRow, DeliveryRow.id == MovementRow.delivery_id)
            .join(SupplierRow, SupplierRow.id == DeliveryRow.supplier_id)
            .join(PieceRow, PieceRow.id == line.piece_id)
            .join(SpeciesRow, SpeciesRow.id == PieceRow.species_id)
            .where(
                MovementRow.kind == MovementKind.RECEIVE,
                ~exists().where(back.c.reverses_id == MovementRow.id),
            )
            .group_by(*keys)
            .order_by(*keys)
        )
        if supplier is not None:
            asked = asked.where(SupplierRow.name == supplier)
        if species is not None:
            asked = asked.where(SpeciesRow.name == species)
        rows = self._connection.execute(asked)
        return [(*row[:6], int(row[6]), row[7]) for row in rows]

    def _standing(self) -> Any:
        reversal = MovementRow.__table__.alias("reversal")
        taken_back = exists().where(
            MovementRow.delivery_id == DeliveryRow.id, reversal.c.reverses_id == MovementRow.id
        )
        return (
            select(*_COLUMNS).join(SupplierRow, SupplierRow.id == DeliveryRow.supplier_id).where(~taken_back)
        )

    def row_id(self, supplier: str, docket: str) -> int:
        """The newest row of a supplier's docket. Raises NotFound."""
        found = self._connection.execute(
            select(DeliveryRow.id)
            .where(
                DeliveryRow.supplier_id == self._work.suppliers.row_id(supplier),
                DeliveryRow.docket == docket.strip(),
            )
            .order_by(DeliveryRow.id.desc())
            .limit(1)
        ).scalar()
        if found is None:
            raise NotFound("docket", docket)
        return found


def _delivery(row: Row[*tuple[Any, ...]]) -> Delivery:
    values = dict(zip((column.key for column in _COLUMNS), row, strict=True))
    values["supplier"] = values.pop("name")
    values["charges"] = {name: Decimal(amount) for name, amount in values["charges"].items()}
    return Delivery(**values)


def _already(delivery: Delivery) -> str:
    when = f"on {delivery.received_on:%d %B %Y}" + (f" by {delivery.who}" if delivery.who else "")
    return (
        f"Docket {delivery.docket} of {delivery.supplier} was received {when}; a docket is booked once."
        " Reverse it first if it was booked wrongly."
    )
