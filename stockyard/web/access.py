"""Who may do what: every route says what it needs, and one rule enforces it before the route runs.

A route that says nothing is refused to everybody, so a forgotten rule is a closed door, and a test names it.
"""

from collections.abc import Callable
from enum import Enum
from typing import Any

from stockyard.timber.person import Person, Role


class Need(Enum):
    """What a route asks of whoever comes: nothing, to be let in as a reader, or as a maker."""

    NOTHING = None
    READER = Role.READER
    MAKER = Role.MAKER

    def met_by(self, person: Person | None) -> bool:
        """May this person pass? None: somebody who has not signed in."""
        return self.value is None or (person is not None and person.role.covers(self.value))


FORM_MB = 1.0
"""The largest body of a route that does not say otherwise: no form that a person fills in comes near it."""

_NEEDS: dict[Callable[..., Any], tuple[Need, float]] = {}


def needs(need: Need, *, at_most_mb: float = FORM_MB) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Says what a route needs, and how large a body it takes. Stands nearest to the function."""

    def say(endpoint: Callable[..., Any]) -> Callable[..., Any]:
        _NEEDS[endpoint] = (need, at_most_mb)
        return endpoint

    return say


def rule_of(endpoint: object) -> tuple[Need, float] | None:
    """What a route's function needs and takes at most [MB]; None where nobody said."""
    return _NEEDS.get(endpoint) if callable(endpoint) else None
