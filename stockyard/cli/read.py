"""What a person types for a number, a face, a colour, a point or a sum: read, or refused in a sentence."""

from datetime import date
from decimal import Decimal, InvalidOperation
from math import isfinite
from typing import Annotated

import typer

from stockyard.errors import BadInput
from stockyard.timber import Face, Point

because_option = Annotated[str, typer.Option("--because", help="Why; kept with the change.")]


def number_of(text: str, where: str) -> float:
    """A finite number. Raises BadInput."""
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not isfinite(value):
        raise BadInput(f"{where}: expected a number, found {text!r}.")
    return value


def amount_of(text: str, where: str) -> Decimal:
    """An amount of money as typed, finite; whether the currency has so many decimals is for the yard to say.

    Raises BadInput.
    """
    try:
        value = Decimal(text.replace(",", ""))
    except InvalidOperation:
        value = Decimal("NaN")
    if not value.is_finite():
        raise BadInput(f"{where}: expected an amount such as 120.50, found {text!r}.")
    return value


def face_of(text: str, through: bool = True) -> Face:
    """A face: A, B, or (where a defect may go through) both. Raises BadInput."""
    found = {"a": Face.A, "b": Face.B, **({"both": Face.BOTH} if through else {})}.get(
        text.strip().casefold()
    )
    if found is None:
        raise BadInput(f"face: expected {'A, B or both' if through else 'A or B'}, found {text!r}.")
    return found


def colour_of(text: str, where: str) -> tuple[float, float, float]:
    """A CIELAB colour written as "L,a,b". Raises BadInput."""
    parts = [number_of(part, where) for part in text.split(",")]
    if len(parts) != 3:
        raise BadInput(f"{where}: expected three numbers such as 52.1,14,22.5, found {text!r}.")
    return (parts[0], parts[1], parts[2])


def points_of(text: str, where: str) -> tuple[Point, ...]:
    """Points written as "x,y x,y ...", in mm of the board frame. Raises BadInput."""
    points = []
    for word in text.split():
        parts = [number_of(part, where) for part in word.split(",")]
        if len(parts) != 2:
            raise BadInput(f'{where}: expected points such as "310,40 455,52", found {word!r}.')
        points.append((parts[0], parts[1]))
    if not points:
        raise BadInput(f'{where}: expected points such as "310,40 455,52", found nothing.')
    return tuple(points)


def box_of(text: str, where: str) -> tuple[float, float, float, float]:
    """Two opposite corners written as "x0,y0,x1,y1", in mm of the board frame. Raises BadInput."""
    parts = [number_of(part, where) for part in text.replace(" ", ",").split(",") if part]
    if len(parts) != 4:
        raise BadInput(f"{where}: expected two corners such as 310,40,455,52, found {text!r}.")
    return (parts[0], parts[1], parts[2], parts[3])


def day_of(text: str | None, where: str) -> date | None:
    """A day as people write it (2026-11-24, 24/11/2026, 24 Nov 2026), or None. Raises BadInput."""
    from stockyard.measures.date_text import parse_date

    return None if text is None else parse_date(text, where=where)


def air_of(text: str | None, where: str) -> tuple[float, float] | None:
    """Air written as "temperature/humidity", in °C and percent, or None. Raises BadInput."""
    if text is None:
        return None
    parts = text.replace("%", "").split("/")
    if len(parts) != 2:
        raise BadInput(f"{where}: expected degrees C and percent such as 22/45, found {text!r}.")
    return number_of(parts[0], where), number_of(parts[1], where)
