"""Suppliers by name."""

from sqlalchemy import select, update

from stockyard.errors import NotFound
from stockyard.records.repositories.counts import add_once
from stockyard.records.repositories.repository import Repository, near
from stockyard.records.tables import SupplierRow
from stockyard.timber.delivery import Supplier


class SupplierRepository(Repository):
    """Suppliers. Case and spaces around a name do not tell them apart."""

    def all(self) -> tuple[Supplier, ...]:
        """Every supplier, by name."""
        rows = self._connection.execute(
            select(SupplierRow.name, SupplierRow.particulars, SupplierRow.note).order_by(SupplierRow.name)
        )
        return tuple(Supplier(*row) for row in rows)

    def get(self, name: str) -> Supplier:
        """The supplier of that name. Raises NotFound, with near names."""
        for supplier in self.all():
            if _key(supplier.name) == _key(name):
                return supplier
        raise NotFound("supplier", name, near(name, [each.name for each in self.all()]))

    def keep(self, supplier: Supplier) -> Supplier:
        """Add a supplier, or bring the particulars of one already known up to date."""
        row = {
            "name": supplier.name.strip(),
            "particulars": dict(supplier.particulars),
            "note": supplier.note,
        }
        known = self.row_id(supplier.name)
        if known is None:
            add_once(self._connection, SupplierRow, "name", row)
        else:
            del row["name"]
            self._connection.execute(update(SupplierRow).where(SupplierRow.id == known).values(row))
        return self.get(supplier.name)

    # What follows serves the other repositories.

    def row_id(self, name: str) -> int | None:
        """A supplier's row id, or None."""
        # Compared here: SQLite's lower() knows only ASCII.
        rows = self._connection.execute(select(SupplierRow.id, SupplierRow.name))
        return next((id_ for id_, known in rows if _key(known) == _key(name)), None)

    def row_id_for(self, name: str) -> int:
        """A supplier's row id, the supplier added by name alone when new."""
        found = self.row_id(name)
        if found is None:
            self.keep(Supplier(name))
            found = self.row_id(name)
        assert found is not None
        return found


def _key(name: str) -> str:
    return " ".join(name.split()).casefold()
