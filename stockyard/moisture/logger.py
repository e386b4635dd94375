"""A climate logger's file, read into air readings, with what was odd about it said.

Nothing is guessed in silence: a unit that does not fit, a moment read twice with different values, or an
hour that the clock skipped is a fault; a dropped row, a gap or a turned clock is a note.
"""

import csv
import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from stockyard.errors import BadInput, Fault, OutOfRange
from stockyard.moisture.climate import AirReading, Gap
from stockyard.moisture.equilibrium import humidity_from_percent, room_temperature

MAX_BYTES = 50_000_000
FIRST_YEAR = 1970
"""No climate logger wrote before; an earlier year is a misread date."""
SILENCE = 3
"""A step this many times the usual one is a gap."""

_NO_VALUE = frozenset({"", "-", "--", "---", "nan", "n/a", "null", "err", "error", "off"})
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,]\d+)?)?\s*([AaPp]\.?[Mm]\.?)?")
_DAY = re.compile(r"(\d{1,4})[/.\-](\d{1,2})[/.\-](\d{1,4})")


@dataclass(frozen=True, slots=True)
class LoggerFile:
    """What a logger's file holds: readings in order of time, gaps, and notes a person should read.

    columns: which column was taken for what.
    """

    readings: tuple[AirReading, ...]
    gaps: tuple[Gap, ...]
    notes: tuple[str, ...]
    columns: dict[str, str]


@dataclass(frozen=True, slots=True)
class _Row:
    number: int
    time: str
    temperature: float
    humidity_pct: float


def read_logger(
    content: bytes, zone: str, *, month_first: bool = False, not_after: datetime | None = None
) -> LoggerFile:
    """The readings of a logger's CSV.

    content: text in UTF-8, UTF-16 with a byte-order mark, or Windows-1252; commas, semicolons or tabs; a
    header naming time (or date and time), temperature and humidity, with anything above it. Humidity in
    percent; temperature in °C unless its header says °F.
    zone: in which bare times are told, such as "Australia/Melbourne". not_after: later times are refused.
    Raises BadInput with every fault.
    """
    try:
        place = ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise BadInput(
            "The zone is not known.", [Fault("zone", "a zone such as Australia/Melbourne", repr(zone))]
        ) from None
    try:
        table, first = _table(_text(content))
    except csv.Error as unreadable:
        raise BadInput(f"The logger's file is no CSV: {unreadable}.") from None
    header = table[0]
    where = _columns(header)
    fahrenheit = bool(re.search(r"°\s*f|\bf\b|fahrenheit|deg\s*f", header[where["temperature"]].casefold()))
    faults: list[Fault] = []
    rows, dropped = _rows(table[1:], first, where, fahrenheit, faults)
    _check_units(rows, faults)
    notes = (
        [_some(dropped, "had no value and was left out", "had no value and were left out")] if dropped else []
    )
    if faults:
        raise BadInput("The logger's file cannot be used.", faults)
    readings = _in_time(rows, place, month_first, not_after, faults, notes)
    if faults:
        raise BadInput("The logger's file cannot be used.", faults)
    if not readings:
        raise BadInput("The logger's file holds no reading.", [Fault("file", "at least one row of readings")])
    gaps = _gaps(readings)
    if gaps:
        hours = max(gap.length for gap in gaps).total_seconds() / 3600
        longest = f"{hours / 24:.1f} days" if hours >= 48 else f"{hours:.1f} hours"
        many = "1 gap of" if len(gaps) == 1 else f"{len(gaps)} gaps, the longest"
        notes.append(f"{many} {longest}; means say how much of their time is covered.")
    columns = {what: header[index].strip() for what, index in where.items()}
    return LoggerFile(readings, gaps, tuple(notes), columns)


def _text(content: bytes) -> str:
    if len(content) > MAX_BYTES:
        raise BadInput(f"The logger's file is larger than {MAX_BYTES // 1_000_000} MB; split it by year.")
    marked = content.startswith((b"\xff\xfe", b"\xfe\xff"))
    encodings = ["utf-16"] if marked else ["utf-8-sig", "cp1252"]
    for encoding in encodings:
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\x00" not in text:
            return text
    raise BadInput("The logger's file is not text; export it as CSV.")


def _table(text: str) -> tuple[list[list[str]], int]:
    """The rows from the header down, and the number of the header's line."""
    for number, line in enumerate(text.splitlines()[:200], start=1):
        for mark in (";", "\t", ","):
            cells = next(csv.reader([line], delimiter=mark), [])
            if len(cells) >= 3 and {"temperature", "humidity"} <= _columns(cells, quiet=True).keys():
                rest = "\n".join(text.splitlines()[number - 1 :])
                return list(csv.reader(io.StringIO(rest), delimiter=mark)), number
    raise BadInput(
        "No header was found.",
        [Fault("file", "a row naming time, temperature and humidity, parted by commas, semicolons or tabs")],
    )


def _columns(header: list[str], quiet: bool = False) -> dict[str, int]:
    """Which column holds what: time (or date and clock), temperature, humidity."""
    tests: dict[str, Callable[[str], bool]] = {
        "temperature": lambda h: h.startswith("temp") or "temperature" in h or h in {"°c", "°f", "celsius"},
        "humidity": lambda h: "humid" in h or bool(re.search(r"\brh\b|%rh", h)),
        "date": lambda h: bool(re.match(r"date\b(?!.*time)", h)),
        "time": lambda h: "time" in h,
    }
    found: dict[str, int] = {}
    faults = []
    for what, test in tests.items():
        indices = [
            index
            for index, cell in enumerate(header)
            if index not in found.values() and "dew" not in cell.casefold() and test(cell.strip().casefold())
        ]
        if len(indices) == 1:
            found[what] = indices[0]
        elif indices:
            faults.append(Fault("header", f"one column of {what}", " and ".join(header[i] for i in indices)))
    if not quiet:
        if "time" not in found and "date" not in found:
            faults.append(Fault("header", "a column of time", ", ".join(header)))
        if faults:
            raise BadInput("The header cannot be understood.", faults)
    return found


def _rows(
    lines: list[list[str]], header_line: int, where: dict[str, int], fahrenheit: bool, faults: list[Fault]
) -> tuple[list[_Row], list[int]]:
    rows: list[_Row] = []
    dropped: list[int] = []
    for number, cells in enumerate(lines, start=header_line + 1):
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) <= max(where.values()):
            faults.append(Fault(f"row {number}", f"{max(where.values()) + 1} columns", str(len(cells))))
            continue
        values = {what: cells[index].strip() for what, index in where.items()}
        if values["temperature"].casefold() in _NO_VALUE or values["humidity"].casefold() in _NO_VALUE:
            dropped.append(number)
            continue
        temperature = _number(values["temperature"], f"row {number}, temperature", faults)
        humidity = _number(values["humidity"], f"row {number}, humidity", faults)
        if temperature is None or humidity is None:
            continue
        time = " ".join(part for part in (values.get("date", ""), values.get("time", "")) if part)
        rows.append(_Row(number, time, (temperature - 32) / 1.8 if fahrenheit else temperature, humidity))
    return rows, dropped


def _number(text: str, where: str, faults: list[Fault]) -> float | None:
    plain = re.sub(r"\s*(%|°\s*[cCfF]|%?\s*RH)?$", "", text, flags=re.IGNORECASE)
    if re.fullmatch(r"[+-]?\d{1,4}([.,]\d{1,6})?", plain):
        return float(plain.replace(",", "."))
    faults.append(Fault(where, "a number", repr(text[:40])))
    return None


def _check_units(rows: list[_Row], faults: list[Fault]) -> None:
    """One fault for a column in the wrong unit, or one for each row that stands out."""
    shares = [row for row in rows if 0 <= row.humidity_pct <= 1]
    hot = [row for row in rows if row.temperature > 55]
    if rows and len(shares) > len(rows) / 2:
        found = f"{shares[0].humidity_pct:g} in row {shares[0].number}"
        faults.append(Fault("column of humidity", "percent; this looks like shares of 1", found))
        return
    if rows and len(hot) > len(rows) / 2:
        found = f"{hot[0].temperature:g} in row {hot[0].number}"
        faults.append(
            Fault("column of temperature", "°C; this looks like °F, so name the unit in the header", found)
        )
        return
    for row in rows:
        for check, value, what in (
            (room_temperature, row.temperature, "temperature"),
            (humidity_from_percent, row.humidity_pct, "humidity"),
        ):
            try:
                check(value, f"row {row.number}, {what}")
            except OutOfRange as refusal:
                faults.extend(refusal.faults)


def _in_time(
    rows: list[_Row],
    place: ZoneInfo,
    month_first: bool,
    not_after: datetime | None,
    faults: list[Fault],
    notes: list[str],
) -> tuple[AirReading, ...]:
    kept: dict[datetime, tuple[_Row, AirReading]] = {}
    repeated: list[int] = []
    backwards = 0
    turned: list[datetime] = []
    last: datetime | None = None
    for row, at in _moments(rows, place, month_first, faults):
        if not_after is not None and at.astimezone(UTC) > not_after:
            faults.append(Fault(f"row {row.number}", f"a time not after {not_after.isoformat()}", row.time))
            continue
        # Compared and kept as UTC: within one zone Python compares wall clocks, blind to a turned clock.
        moment = at.astimezone(UTC)
        if last is not None:
            backwards += moment < last.astimezone(UTC)
            if at.utcoffset() != last.utcoffset():
                turned.append(at)
        last = at
        reading = AirReading(moment, row.temperature, row.humidity_pct / 100)
        if moment not in kept:
            kept[moment] = (row, reading)
            continue
        first, before = kept[moment]
        if (before.temperature_c, before.humidity) == (reading.temperature_c, reading.humidity):
            repeated.append(row.number)
        else:
            faults.append(
                Fault(f"row {row.number}", f"one reading for {row.time}", f"another in row {first.number}")
            )
    if repeated:
        notes.append(_some(repeated, "repeats another and was left out", "repeat others and were left out"))
    if backwards:
        notes.append(f"The rows were not in order of time ({backwards} steps back); they were sorted.")
    notes.extend(f"The clock's offset changed at {at.isoformat()}." for at in turned)
    return tuple(reading for _, (_, reading) in sorted(kept.items(), key=lambda item: item[0]))


def _moments(
    rows: list[_Row], place: ZoneInfo, month_first: bool, faults: list[Fault]
) -> Iterator[tuple[_Row, datetime]]:
    """Each row with its moment; bare times are told in `place`, the hour that a clock repeats in turn."""
    last_wall: datetime | None = None
    fold = 0
    for row in rows:
        wall = _time(row.time, month_first)
        if wall is None or not FIRST_YEAR <= wall.year <= 9998:
            order = "month" if month_first else "day"
            faults.append(
                Fault(f"row {row.number}", f"a time, the {order} first or ISO 8601", repr(row.time[:40]))
            )
            continue
        if wall.tzinfo is not None:
            yield row, wall
            continue
        local = wall.replace(tzinfo=place)
        if local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset():
            if local.astimezone(UTC).astimezone(place).replace(tzinfo=None) != wall:
                faults.append(
                    Fault(
                        f"row {row.number}",
                        f"a time the clocks of {place.key} showed; the logger seems to keep standard time, so"
                        " give a zone without summer time",
                        row.time,
                    )
                )
                continue
            if last_wall is not None and wall <= last_wall and last_wall - wall < timedelta(hours=2):
                fold = 1
        else:
            fold = 0
        last_wall = wall
        yield row, local.replace(fold=fold)


def _time(text: str, month_first: bool) -> datetime | None:
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        pass
    day, clock = _DAY.match(text), _CLOCK.search(text)
    if not day or not clock:
        return None
    first, second, third = (int(part) for part in day.groups())
    if first > 31:
        year, month, date = first, second, third
    else:
        year, month, date = (third, first, second) if month_first else (third, second, first)
    year += 2000 if year < 100 else 0
    hour = int(clock[1])
    if clock[4]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if clock[4][0] in "pP" else 0)
    try:
        # A bare wall time on purpose: its zone is settled by the caller, with the hour the clock repeats.
        return datetime(year, month, date, hour, int(clock[2]), int(clock[3] or 0))  # noqa: DTZ001
    except ValueError:
        return None


def _gaps(readings: tuple[AirReading, ...]) -> tuple[Gap, ...]:
    steps = sorted(b.at - a.at for a, b in pairwise(readings))
    if not steps:
        return ()
    usual = steps[len(steps) // 2]
    pairs = pairwise(readings)
    return tuple(Gap(a.at, b.at) for a, b in pairs if b.at - a.at > SILENCE * usual)


def _some(numbers: list[int], one: str, many: str) -> str:
    shown = ", ".join(str(number) for number in numbers[:5]) + (" ..." if len(numbers) > 5 else "")
    return f"Row {shown} {one}." if len(numbers) == 1 else f"{len(numbers)} rows ({shown}) {many}."
