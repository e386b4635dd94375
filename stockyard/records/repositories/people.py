"""People, who is signed in, and sign-ins that failed."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from sqlalchemy import case, delete, func, insert, or_, select, update

from stockyard.errors import NotFound, Refused
from stockyard.records.repositories.repository import Repository, near
from stockyard.records.tables import PersonRow, SignInFailureRow, SignInRow
from stockyard.timber.person import Person, Role

_COLUMNS = (PersonRow.name, PersonRow.role, PersonRow.has_left, PersonRow.at, PersonRow.who)


class PeopleRepository(Repository):
    """People by name, whatever its case. Tokens are given as digests only."""

    def add(self, name: str, role: Role, password: str) -> Person:
        """Add a person. password: its hash. Raises Refused when there is one of that name."""
        folded = _folded(name)
        if self._connection.execute(select(PersonRow.id).where(PersonRow.folded == folded)).first():
            raise Refused(f"There is a {name!r} already; give another name, or change that one.")
        row = {"name": name, "folded": folded, "role": role, "password": password, "has_left": 0}
        self._connection.execute(insert(PersonRow), {**row, **self._signature})
        return self.get(name)

    def get(self, name: str) -> Person:
        """The person of that name. Raises NotFound, with near names."""
        row = self._connection.execute(select(*_COLUMNS).where(PersonRow.folded == _folded(name))).first()
        if row is None:
            raise NotFound("person", name, near(name, (each.name for each in self.all())))
        return _person(row)

    def all(self) -> tuple[Person, ...]:
        """Everyone there ever was, by name."""
        return tuple(map(_person, self._connection.execute(select(*_COLUMNS).order_by(PersonRow.folded))))

    def count(self) -> int:
        """How many there ever were: whether this yard asks people to sign in at all."""
        return int(self._connection.execute(select(func.count()).select_from(PersonRow)).scalar_one())

    def change(
        self,
        name: str,
        *,
        role: Role | None = None,
        password: str | None = None,
        has_left: bool | None = None,
    ) -> Person:
        """Change what is given, and end every sign-in of that person. Raises NotFound."""
        self.get(name)
        given = {"role": role, "password": password, "has_left": None if has_left is None else int(has_left)}
        changes = {column: value for column, value in given.items() if value is not None}
        if changes:
            self._connection.execute(
                update(PersonRow).where(PersonRow.folded == _folded(name)).values(changes)
            )
            person = select(PersonRow.id).where(PersonRow.folded == _folded(name)).scalar_subquery()
            self._connection.execute(delete(SignInRow).where(SignInRow.person_id == person))
        return self.get(name)

    def password_of(self, name: str) -> str | None:
        """The hash of the password of whoever may sign in under that name; None where nobody may."""
        asked = select(PersonRow.password).where(PersonRow.folded == _folded(name), PersonRow.has_left == 0)
        return self._connection.execute(asked).scalar()

    def begin(self, name: str, token: str, ends: datetime) -> None:
        """Note a sign-in. Clears those that have ended away."""
        now = self._work.now
        self._connection.execute(delete(SignInRow).where(SignInRow.ends <= now))
        person = self._connection.execute(select(PersonRow.id).where(PersonRow.folded == _folded(name)))
        row = {"token": token, "person_id": person.scalar_one(), "started": now, "seen": now, "ends": ends}
        self._connection.execute(insert(SignInRow), row)

    def signed_in(self, token: str) -> tuple[Person, datetime] | None:
        """Whose sign-in that is, and when it was last noted as in use; None once it has ended."""
        row = self._connection.execute(
            select(*_COLUMNS, SignInRow.seen)
            .join(SignInRow, SignInRow.person_id == PersonRow.id)
            .where(SignInRow.token == token, SignInRow.ends > self._work.now, PersonRow.has_left == 0)
        ).first()
        return None if row is None else (_person(row[:-1]), row[-1])

    def keep(self, token: str, ends: datetime) -> None:
        """Note that a sign-in is in use, and let it last until `ends`."""
        self._connection.execute(
            update(SignInRow).where(SignInRow.token == token).values(seen=self._work.now, ends=ends)
        )

    def end(self, token: str) -> None:
        """End one sign-in."""
        self._connection.execute(delete(SignInRow).where(SignInRow.token == token))

    def failures(self, name: str, address: str, since: datetime) -> tuple[int, int]:
        """How many sign-ins failed since then: under that name, and from that address."""
        row = self._connection.execute(
            select(
                func.sum(case((SignInFailureRow.folded == _folded(name), 1), else_=0)),
                func.sum(case((SignInFailureRow.address == address, 1), else_=0)),
            ).where(
                SignInFailureRow.at > since,
                or_(SignInFailureRow.folded == _folded(name), SignInFailureRow.address == address),
            )
        ).one()
        return int(row[0] or 0), int(row[1] or 0)

    def note_failure(self, name: str, address: str, forget_before: datetime) -> None:
        """Note a sign-in that failed, and clear older ones away."""
        self._connection.execute(delete(SignInFailureRow).where(SignInFailureRow.at <= forget_before))
        row = {"folded": _folded(name), "address": address, "at": self._work.now}
        self._connection.execute(insert(SignInFailureRow), row)

    def forget_failures(self, name: str) -> None:
        """Clear away what failed under a name, now that it signed in."""
        self._connection.execute(delete(SignInFailureRow).where(SignInFailureRow.folded == _folded(name)))


def _folded(name: str) -> str:
    return " ".join(name.split()).casefold()


def _person(row: Iterable[Any]) -> Person:
    name, role, has_left, at, who = row
    return Person(name, role, bool(has_left), at, who)
