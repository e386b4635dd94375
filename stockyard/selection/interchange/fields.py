"""A document being read: each check says where, what was expected and what was found, and reading goes on."""

from collections.abc import Callable, Collection, Mapping
from decimal import Decimal
from difflib import get_close_matches
from enum import StrEnum
from math import isfinite
from typing import Any, TypeVar

from stockyard.errors import BadInput, Fault
from stockyard.selection.interchange.text import Repeated

NUMBERS = frozenset({int, float, Decimal})  # by exact type: true is an int to Python, and not a number here

MOST_MM = 100_000.0
"""No board, panel or allowance is longer than 100 m. A working choice with no source."""
MOST_MONEY = Decimal(10) ** 12

Choice = TypeVar("Choice", bound=StrEnum)


class Fields:
    """Collects a document's faults; a check that fails returns a stand-in, and the rest is read too."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []

    def wrong(self, where: str, expected: str, found: Any) -> None:
        """Note a fault: `found` is the value that stands there."""
        self.faults.append(Fault(where, expected, shown(found)))

    def finish(self, name: str) -> None:
        """Raise BadInput with every fault, if there is one."""
        if self.faults:
            count = len(self.faults)
            raise BadInput(f"{name} has {count} fault{'s' if count > 1 else ''}.", self.faults)

    def table(
        self, raw: Any, where: str, required: Collection[str], optional: Collection[str] = ()
    ) -> Mapping[str, Any]:
        """An object with these keys and no others; those missing, unknown or repeated are named."""
        if not isinstance(raw, Mapping):
            self.wrong(where or "the document", "an object", raw)
            return {}
        if isinstance(raw, Repeated):
            for key in raw.keys_repeated:
                self.faults.append(Fault(_under(where, key), "each key once", "the key again"))
        for key in raw:
            if key not in required and key not in optional:
                near = get_close_matches(str(key), [*required, *optional], n=1)
                hint = f" (did you mean {near[0]}?)" if near else ""
                expected = f"one of {', '.join([*required, *optional])}{hint}"
                self.faults.append(Fault(_under(where, str(key)), expected, f"unknown key {key}"))
        for key in required:
            if raw.get(key) is None:
                found = "null" if key in raw else "nothing"
                self.faults.append(Fault(_under(where, key), "a value", found))
        return raw

    def items(self, raw: Any, where: str, *, least: int = 0) -> list[Any]:
        """A list of at least so many."""
        if not isinstance(raw, list | tuple):
            if raw is not None:
                self.wrong(where, "a list", raw)
            return []
        if len(raw) < least:
            self.wrong(where, f"at least {least} in the list", raw)
        return list(raw)

    def text(self, raw: Any, where: str) -> str:
        """A string with something in it."""
        if isinstance(raw, str) and raw.strip():
            return raw
        if raw is not None:
            self.wrong(where, "a text that is not empty", raw)
        return ""

    def number(
        self, raw: Any, where: str, low: float, high: float, *, above: bool = False, unit: str = ""
    ) -> float:
        """A finite number from low to high (above low when `above`)."""
        if type(raw) in NUMBERS:
            try:
                value = raw if type(raw) is int else float(raw)
            except (OverflowError, ValueError):
                value = float("nan")
            if low <= value <= high and not (above and value == low):
                return value
        if raw is not None:
            least = f"above {low:g}" if above else f"{low:g} or more"
            self.wrong(where, f"a number {least} and at most {high:g}{unit}", raw)
        return low

    def length(self, raw: Any, where: str, *, high: float = MOST_MM, above: bool = False) -> float:
        """A length or size in mm."""
        return self.number(raw, where, 0, high, above=above, unit=" mm")

    def whole(self, raw: Any, where: str, low: int, high: int) -> int:
        """A whole number from low to high, written without a fraction other than .0."""
        if _finite(raw) and low <= raw <= high and raw == int(raw):
            return int(raw)
        if raw is not None:
            self.wrong(where, f"a whole number from {low} to {high}", raw)
        return low

    def money(self, raw: Any, where: str, low: Decimal = Decimal(0), high: Decimal = MOST_MONEY) -> Decimal:
        """An exact amount; one out of a mapping is taken as it prints."""
        if _finite(raw):
            value = raw if type(raw) is Decimal else Decimal(str(raw))
            if low <= value <= high:
                return value
        if raw is not None:
            self.wrong(where, f"an amount from {low:f} to {high:f}", raw)
        return low

    def choice(self, raw: Any, where: str, choices: type[Choice], allowed: Collection[Choice] = ()) -> Choice:
        """One of the words, nearly right ones offered the right one."""
        words = tuple(allowed) or tuple(choices)
        if isinstance(raw, str) and raw in words:
            return choices(raw)
        if raw is not None:
            near = get_close_matches(raw, words, n=1, cutoff=0.5) if isinstance(raw, str) else []
            hint = f" (did you mean {near[0]}?)" if near else ""
            self.wrong(where, f"one of {', '.join(words)}{hint}", raw)
        return words[0]

    def once(self, ids: list[str], where: Callable[[int], str]) -> None:
        """No id twice; where: the place of the n-th."""
        first: dict[str, int] = {}
        for number, name in enumerate(ids):
            if name and first.setdefault(name, number) != number:
                self.wrong(where(number), f"an id of its own, not that of {where(first[name])}", name)

    def order(self, low: float, high: float, where: str, faults_before: int) -> None:
        """Least no more than most, where both were read without fault."""
        if len(self.faults) == faults_before and low > high:
            self.faults.append(Fault(where, "min no more than max", f"{low:g} and {high:g}"))


def given(raw: Mapping[str, Any], key: str) -> bool:
    """Is the key there, and not null?"""
    return raw.get(key) is not None


def shown(value: Any) -> str:
    """A value of a document as a message quotes it."""
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Mapping):
        return "an object"
    if isinstance(value, list | tuple):
        return "an empty list" if not value else f"a list of {len(value)}"
    if isinstance(value, str):
        return f'"{value[:60]}"'
    return str(value)[:60]


def _finite(raw: Any) -> bool:
    try:
        return type(raw) in NUMBERS and isfinite(raw)
    except (OverflowError, ValueError):  # an integer beyond any float; a signalling NaN
        return False


def _under(where: str, key: str) -> str:
    return f"{where}.{key}" if where else key
