import json
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import Enum

from stockyard.measures.plain import plain


class _Colour(Enum):
    RED = "red"


@dataclass(frozen=True)
class _Kept:
    price: Decimal
    on: date
    colours: tuple[_Colour, ...]


def test_values_become_what_json_holds() -> None:
    kept = _Kept(Decimal("12.50"), date(2026, 3, 1), (_Colour.RED,))
    told = json.loads(json.dumps(plain({_Colour.RED: kept, "count": Decimal("3.00"), "none": None})))
    assert told == {
        "red": {"price": 12.5, "on": "2026-03-01", "colours": ["red"]},
        "count": 3,
        "none": None,
    }
