"""Dates as they are written on dockets."""

import re
from datetime import date

from stockyard.measures.number import refusal, spaces_evened

FIRST_YEAR = 1900

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_FULL = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october",
    "november", "december",
)  # fmt: skip
_ISO = re.compile(r"([0-9]{4})-([0-9]{1,2})-([0-9]{1,2})(?:[T ]00:00(?::00)?)?")
_SLASHED = re.compile(r"([0-9]{1,2})([/.\-])([0-9]{1,2})\2([0-9]{4})")
_WORDED = re.compile(r"([0-9]{1,2})(?:st|nd|rd|th)?[ \-]([A-Za-z]{3,9})\.?,?[ \-]([0-9]{4})")


def parse_date(text: str, *, month_first: bool = False, where: str = "date") -> date:
    """The day that `text` names: "2026-11-24", "24/11/2026", "24.11.2026", "24 Nov 2026".

    month_first: read "11/24/2026" as the Americans do; otherwise the day stands first, always, so that
    one sheet is never read both ways. Two-figure years are refused. Whether a day in the future makes
    sense is for the caller to say.
    Raises BadInput when it is no such day.
    """
    plain = spaces_evened(text)
    if iso := _ISO.fullmatch(plain):
        year, month, day = int(iso[1]), int(iso[2]), int(iso[3])
    elif slashed := _SLASHED.fullmatch(plain):
        day, month, year = int(slashed[1]), int(slashed[3]), int(slashed[4])
        if month_first:
            day, month = month, day
    elif worded := _WORDED.fullmatch(plain):
        day, month, year = int(worded[1]), _month(worded[2]), int(worded[3])
    else:
        raise refusal(where, "a date such as 2026-11-24, 24/11/2026 or 24 Nov 2026", text)
    try:
        found = date(year, month, day)
    except ValueError:
        order = "month/day/year" if month_first else "day/month/year"
        raise refusal(where, f"a day of the calendar ({order} when written in figures)", text) from None
    if year < FIRST_YEAR:
        raise refusal(where, f"a date after {FIRST_YEAR}", text)
    return found


def _month(word: str) -> int:
    """1 to 12, or 0 when it names none."""
    low = word.lower()
    if low in _FULL:
        return _FULL.index(low) + 1
    return _MONTHS.index(low) + 1 if low in _MONTHS else (9 if low == "sept" else 0)
