"""Tables of people: who may use the yard over the network, who is signed in, and sign-ins that failed."""

from datetime import datetime

from sqlalchemy import ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from stockyard.records.columns import Id, UtcTime, Word, one_of
from stockyard.records.tables.base import Base, Signed
from stockyard.timber.person import Role


class PersonRow(Signed, Base):
    """A person, and the hash of the password. folded: the name as it is compared, without case."""

    __tablename__ = "person"

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    name: Mapped[str] = mapped_column(Word)
    folded: Mapped[str] = mapped_column(Word, unique=True)
    role: Mapped[Role] = mapped_column(one_of(Role, "role"))
    password: Mapped[str] = mapped_column(Word)
    has_left: Mapped[int] = mapped_column(Id)


class SignInRow(Base):
    """One sign-in that lasts. token: a digest; the token itself is only with whoever signed in."""

    __tablename__ = "sign_in"
    __table_args__ = (Index(None, "person_id"),)

    token: Mapped[str] = mapped_column(Word, primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    started: Mapped[datetime] = mapped_column(UtcTime)
    seen: Mapped[datetime] = mapped_column(UtcTime)
    ends: Mapped[datetime] = mapped_column(UtcTime)


class SignInFailureRow(Base):
    """A sign-in that failed: under which folded name, from which address. Old ones are cleared away."""

    __tablename__ = "sign_in_failure"
    __table_args__ = (Index(None, "folded", "at"), Index(None, "address", "at"))

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    folded: Mapped[str] = mapped_column(Word)
    address: Mapped[str] = mapped_column(Word)
    at: Mapped[datetime] = mapped_column(UtcTime)
