"""People who may use the yard over the network: add them, change them, sign them in and out.

A yard that knows no people asks nobody to sign in; whoever serves it must then keep it on its own machine.
"""

import secrets
from datetime import timedelta
from functools import cache
from hashlib import sha256
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault, NotLetIn, Refused
from stockyard.timber.person import Person, Role

if TYPE_CHECKING:
    from argon2 import PasswordHasher

    from stockyard.records import OpenWork

LEAST_PASSWORD = 10
"""Fewest characters of a password. Source: longer than the 8 that NIST SP 800-63B (2017), 5.1.1.2 asks."""

_LONGEST = 200
_LASTS = timedelta(hours=12)
_NOTED_EVERY = timedelta(minutes=10)
_COUNTED_FOR = timedelta(minutes=15)
_MOST_TRIES, _MOST_FROM_ONE_PLACE = 5, 20


def add_person(open_work: "OpenWork", name: str, role: Role, password: str) -> Person:
    """Add a person who may sign in from now on.

    Raises BadInput for an empty name or a short password, Refused when the name is taken or the first person
    would be a reader: from then on everyone signs in, and nobody could add a maker.
    """
    shown = " ".join(name.split())
    faults = _faults(password)
    if not shown or len(shown) > _LONGEST:
        faults.append(Fault("name", f"a name of 1 to {_LONGEST} characters", repr(shown[:40])))
    if faults:
        raise BadInput("Nobody was added.", faults)
    hashed = _hasher().hash(password)
    with open_work() as work:
        if role is Role.READER and work.people.count() == 0:
            raise Refused("The first person has to be a maker, who can add the others.")
        person = work.people.add(shown, role, hashed)
        work.commit()
    return person


def change_person(
    open_work: "OpenWork",
    name: str,
    *,
    role: Role | None = None,
    password: str | None = None,
    has_left: bool | None = None,
) -> Person:
    """Change a person's role or password, or say that they have left; ends all their sign-ins.

    Raises NotFound, and BadInput for a short password or when nobody would be left who may change people.
    """
    faults = [] if password is None else _faults(password)
    if faults:
        raise BadInput(f"{name} was not changed.", faults)
    hashed = None if password is None else _hasher().hash(password)
    with open_work() as work:
        person = work.people.change(name, role=role, password=hashed, has_left=has_left)
        if not any(each.role is Role.MAKER and not each.has_left for each in work.people.all()):
            raise BadInput(f"{name} was not changed: one maker must stay. Add another first.")
        work.commit()
    return person


def change_own_password(open_work: "OpenWork", name: str, old: str, new: str) -> None:
    """Give oneself another password, knowing the one there is; ends all one's sign-ins.

    Raises BadInput with every fault, NotLetIn after too many wrong ones.
    """
    with open_work(reading=True) as work:
        kept = work.people.password_of(name)
        tried, _ = work.people.failures(name, "", work.now - _COUNTED_FOR)
    if tried >= _MOST_TRIES:
        minutes = int(_COUNTED_FOR.total_seconds() // 60)
        raise NotLetIn(f"Too many tries; wait {minutes} minutes and try again.", minutes)
    faults = _faults(new)
    if kept is None or not _verified(kept, old[:_LONGEST]):
        faults.insert(0, Fault("old password", "the one you sign in with", "another"))
        with open_work() as work:
            work.people.note_failure(name, "", work.now - _COUNTED_FOR)
            work.commit()
    if faults:
        raise BadInput("The password was not changed.", faults)
    change_person(open_work, name, password=new)


def list_people(open_work: "OpenWork") -> tuple[Person, ...]:
    """Everyone there ever was, by name."""
    with open_work(reading=True) as work:
        return work.people.all()


def asks_to_sign_in(open_work: "OpenWork") -> bool:
    """Does this yard know people, so that nobody comes in without signing in?"""
    with open_work(reading=True) as work:
        return work.people.count() > 0


def sign_in(open_work: "OpenWork", name: str, password: str, address: str) -> str:
    """Sign a person in from a network address. Returns the token to be shown at every visit from then on.

    Raises NotLetIn for a wrong name or password (not saying which), and after too many of them.
    """
    with open_work(reading=True) as work:
        by_name, from_there = work.people.failures(name, address, work.now - _COUNTED_FOR)
        kept = work.people.password_of(name)
    if by_name >= _MOST_TRIES or from_there >= _MOST_FROM_ONE_PLACE:
        minutes = int(_COUNTED_FOR.total_seconds() // 60)
        raise NotLetIn(f"Too many tries; wait {minutes} minutes and try again.", minutes)
    # As much work for a name that is not there, so that the time taken does not tell.
    right = _verified(kept or _nobodys_hash(), password[:_LONGEST]) and kept is not None
    with open_work() as work:
        if not right:
            work.people.note_failure(name, address, work.now - _COUNTED_FOR)
            work.commit()
            raise NotLetIn("That name and password do not belong together.")
        token = secrets.token_urlsafe(32)
        work.people.forget_failures(name)
        work.people.begin(name, digest(token), work.now + _LASTS)
        work.commit()
    return token


def whose_sign_in(open_work: "OpenWork", token: str) -> Person | None:
    """Whose token that is, and let the sign-in last on; None once it has ended or was never one."""
    known = digest(token)
    with open_work(reading=True) as work:
        found = work.people.signed_in(known)
        stale = found is not None and work.now - found[1] > _NOTED_EVERY
    if stale:
        with open_work() as work:
            work.people.keep(known, work.now + _LASTS)
            work.commit()
    return None if found is None else found[0]


def sign_out(open_work: "OpenWork", token: str) -> None:
    """End a sign-in; nothing happens when it has ended already."""
    with open_work() as work:
        work.people.end(digest(token))
        work.commit()


def digest(token: str) -> str:
    """What is kept of a token, so that whoever reads the records cannot sign in with it."""
    return sha256(token.encode()).hexdigest()


def _faults(password: str) -> list[Fault]:
    if LEAST_PASSWORD <= len(password) <= _LONGEST:
        return []
    return [Fault("password", f"{LEAST_PASSWORD} to {_LONGEST} characters", f"{len(password)}")]


def _verified(hashed: str, password: str) -> bool:
    from argon2.exceptions import VerifyMismatchError

    try:
        return _hasher().verify(hashed, password)
    except VerifyMismatchError:
        return False


@cache
def _hasher() -> "PasswordHasher":
    from argon2 import PasswordHasher

    return PasswordHasher()


@cache
def _nobodys_hash() -> str:
    return _hasher().hash(secrets.token_urlsafe(32))
