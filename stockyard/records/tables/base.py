"""What every table shares: constraint names that migrations can rely on, and who wrote a line of history."""

from datetime import datetime

from sqlalchemy import MetaData
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

from stockyard.records.columns import UtcTime, Word


class Base(DeclarativeBase):
    """The root of the typed tables."""

    metadata = MetaData(
        naming_convention={
            "pk": "pk_%(table_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
        }
    )


class Signed:
    """A line of history: when it was written down, and by whom. Such lines are never changed or deleted."""

    at: Mapped[datetime] = mapped_column(UtcTime, sort_order=90)
    who: Mapped[str] = mapped_column(Word, sort_order=91)
