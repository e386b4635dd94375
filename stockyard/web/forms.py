"""A form as it was filled in: its fields read into values, and every fault of them told at once."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Annotated, TypeVar

from fastapi import Depends, Request
from starlette.datastructures import FormData, UploadFile

from stockyard.errors import BadInput, Fault
from stockyard.measures.date_text import parse_date
from stockyard.measures.number import parse_number
from stockyard.web.ways import Ways

if TYPE_CHECKING:
    from collections.abc import Callable

Value = TypeVar("Value")


@dataclass(slots=True)
class Filled:
    """What somebody filled in. Each reading notes its faults; `check` raises them all together.

    An empty field reads as None (or ""), never as a fault, unless it is `required`.
    """

    fields: FormData
    ways: Ways
    faults: list[Fault] = field(default_factory=list)

    def text(self, name: str, *, strip: bool = True, required: bool = False) -> str:
        """A field's text; "" where it is missing."""
        found = self.fields.get(name, "")
        value = found if isinstance(found, str) else ""
        value = value.strip() if strip else value
        if required and not value:
            self.faults.append(Fault(name, "something", "nothing"))
        return value

    def texts(self, name: str) -> tuple[str, ...]:
        """Every text given under one name, such as of ticked boxes; empty ones left out."""
        found = (value.strip() for value in self.fields.getlist(name) if isinstance(value, str))
        return tuple(value for value in found if value)

    def ticked(self, name: str) -> bool:
        """Was a box ticked?"""
        return bool(self.text(name))

    def number(self, name: str, *, required: bool = False) -> float | None:
        """A number as typed."""
        return self._read(name, lambda text: float(parse_number(text, where=name)), required)

    def whole(self, name: str, *, required: bool = False) -> int | None:
        """A whole number as typed."""
        value = self.number(name, required=required)
        if value is not None and value != int(value):
            self.faults.append(Fault(name, "a whole number", self.text(name)))
            return None
        return None if value is None else int(value)

    def length_mm(self, name: str, *, required: bool = False) -> float | None:
        """A length as typed, in mm; a bare number is in the unit the person likes."""
        return self._read(name, lambda text: self.ways.read_mm(text, name), required)

    def amount(self, name: str, *, required: bool = False) -> Decimal | None:
        """An amount of money as typed, without its currency."""
        return self._read(name, lambda text: parse_number(text, where=name), required)

    def day(self, name: str, *, required: bool = False) -> date | None:
        """A day, as people or date fields write it."""
        return self._read(name, lambda text: parse_date(text, where=name), required)

    def choice(self, name: str, choices: Sequence[str], *, required: bool = False) -> str | None:
        """One of the choices."""
        value = self.text(name, required=required)
        if value and value not in choices:
            self.faults.append(Fault(name, f"one of {', '.join(choices)}", value))
        return value if value in choices else None

    def file(self, name: str, *, required: bool = False) -> tuple[str, bytes] | None:
        """An uploaded file's own name and what it holds."""
        found = self.fields.get(name)
        if isinstance(found, UploadFile) and found.filename:
            return found.filename, found.file.read()
        if required:
            self.faults.append(Fault(name, "a file", "none"))
        return None

    def files(self, name: str) -> tuple[tuple[str, bytes], ...]:
        """Every file uploaded under one name."""
        return tuple(
            (each.filename, each.file.read())
            for each in self.fields.getlist(name)
            if isinstance(each, UploadFile) and each.filename
        )

    def check(self, otherwise: str) -> None:
        """Raises BadInput with every fault noted so far; otherwise: what was not done, in a sentence."""
        if self.faults:
            raise BadInput(otherwise, self.faults)

    def _read(self, name: str, read: "Callable[[str], Value]", required: bool) -> Value | None:
        typed = self.text(name, required=required)
        if not typed:
            return None
        try:
            return read(typed)
        except BadInput as refused:
            self.faults += refused.faults or (Fault(name, refused.message, typed),)
            return None


async def filled(request: Request) -> Filled:
    """The form of this request; the gate has read it already, within its limits."""
    return Filled(await request.form(), Ways.of(request.cookies))


Form = Annotated[Filled, Depends(filled)]
"""What a route asks for: `def book(visit: Here, form: Form)`."""
