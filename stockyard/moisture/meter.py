"""What a resistance meter's reading means for this wood, at this temperature.

Meters are marked for Douglas fir near 20 °C. Australian practice corrects for the temperature of the wood
first and for the species after; doing it the other way round looks up the wrong column.
"""

import csv
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import lru_cache
from importlib.resources import files
from math import isfinite

from stockyard.errors import BadInput, Fault, OutOfRange
from stockyard.timber.species import SpeciesTable, known_species

Points = tuple[float | None, ...]  # one correction for each column of the table; None where there is no data


class TemperatureRule(StrEnum):
    """Which published rule corrects for the temperature of the wood."""

    TABLE = "temperature table"
    EQUATION = "temperature equation"
    HANDBOOK = "half a point per 5.6 °C"
    SWEDISH = "1.6 points per 10 °C"
    NONE = "no temperature correction"


@dataclass(frozen=True, slots=True)
class MeterTables:
    """The corrections in use. A workshop that has its meter's own book passes them here.

    columns: the readings the tables are printed for, rising. [percent]
    by_temperature: wood temperature in °C -> points to add. by_species: (species, source) -> points to add.
    constants: species -> (a, b) of the equation; none are published here, so it serves temperature only.
    lowest, highest: the range in which a resistance meter is useful; 8 to 25 % by the University of
    Tasmania's note on AS/NZS 1080.1.
    """

    columns: tuple[float, ...]
    by_temperature: Mapping[float, Points]
    by_species: Mapping[tuple[str, str], Points]
    constants: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    lowest_pct: float = 8.0
    highest_pct: float = 25.0


@dataclass(frozen=True, slots=True)
class CorrectedReading:
    """A reading corrected, with everything it was made from.

    percent: moisture content, None where the tables have no data. rule: what was applied, in order.
    note: what the reader must know; empty when there is nothing to say.
    on_scale_pct: after temperature and before species, on the Douglas fir scale; None when unknown.
    """

    percent: float | None
    rule: str
    note: str
    raw_pct: float
    wood_temperature_c: float | None
    on_scale_pct: float | None
    source: str | None = None


COLDEST_C, HOTTEST_C = -10.0, 45.0  # a rack outdoors in winter, a tin shed in summer; beyond, a slip


def corrected(
    reading_pct: float,
    wood_temperature_c: float | None,
    species: str,
    source: str | None = None,
    *,
    rule: TemperatureRule = TemperatureRule.TABLE,
    tables: MeterTables | None = None,
    names: SpeciesTable | None = None,
) -> CorrectedReading:
    """The moisture content a resistance meter's reading stands for. [percent]

    reading_pct: as shown by the meter. wood_temperature_c: of the wood, None when it was not measured.
    species: a common name or alias. source: where the tree grew, as the table words it ("Qld", "NSW
    regrowth"); where several apply and none is given, the wettest answer is taken and the note says so.
    A reading outside the meter's useful range, or in a blank of the species' row, has no percentage. A
    species with no row at all keeps the temperature-corrected reading, and the note says what is missing.
    Raises BadInput for a reading that is no percentage, OutOfRange for a temperature that is no workshop's.
    """
    tables = tables or published_tables()
    if not isfinite(reading_pct) or not 0 < reading_pct <= 100:
        raise BadInput(
            "A meter reading is a percentage.",
            [Fault("meter reading", "more than 0 and at most 100 %", str(reading_pct))],
        )
    _check_temperature(wood_temperature_c)
    if not tables.lowest_pct <= reading_pct <= tables.highest_pct:
        side = "below" if reading_pct < tables.lowest_pct else "above"
        return CorrectedReading(
            None,
            "no correction",
            f"A reading of {reading_pct:g} % is {side} the range in which a resistance meter is useful "
            f"({tables.lowest_pct:g} to {tables.highest_pct:g} %); weigh an ovendry sample instead.",
            reading_pct,
            wood_temperature_c,
            None,
            source,
        )
    on_scale, used, notes = _for_temperature(reading_pct, wood_temperature_c, rule, tables)
    known = names or known_species()
    name = known.named(species).name if species in known else species
    percent, species_rule, species_note = _for_species(on_scale, name, source, tables)
    notes.append(species_note)
    return CorrectedReading(
        percent,
        f"{used}, then {species_rule}",
        " ".join(note for note in notes if note),
        reading_pct,
        wood_temperature_c,
        on_scale,
        source,
    )


def by_equation(reading_pct: float, wood_temperature_c: float, a: float = 1.0, b: float = 0.0) -> float:
    """The reading corrected for temperature by equation, and for species where constants are known. [percent]

    a, b: species constants; 1 and 0 leave the Douglas fir scale. The temperature that changes nothing is
    near 22.8 °C (73 °F).
    Source: Pfaff and Garrahan, Forest Products Journal 36(3), 1986; the form as written in three unrelated
    public codes.
    """
    x = wood_temperature_c
    scale = 0.881 * float(1.0056**x)
    return ((reading_pct + 0.567 - 0.0260 * x + 0.000051 * x * x) / scale - b) / a


def by_handbook(reading_pct: float, wood_temperature_c: float, calibrated_c: float = 20.0) -> float:
    """The reading with half a point added for every 5.6 °C of wood colder than the mark. [percent]

    Source: Wood Handbook, chapter 13.
    """
    return reading_pct + 0.5 * (calibrated_c - wood_temperature_c) / 5.6


def by_swedish_test(reading_pct: float, wood_temperature_c: float) -> float:
    """The reading with 1.6 points added for every 10 °C below 20 °C. [percent]

    Source: a Swedish institute's meter test, as quoted in a public fact sheet.
    """
    return reading_pct + 1.6 * (20.0 - wood_temperature_c) / 10.0


@lru_cache(maxsize=1)
def published_tables() -> MeterTables:
    """The corrections that could be read; their sources stand at the head of the two lists."""
    columns, temperature = _points("meter_temperature.csv", 1)
    _, species = _points("meter_species.csv", 2)
    return MeterTables(
        columns,
        {float(key[0]): points for key, points in temperature.items()},
        {(key[0], key[1]): points for key, points in species.items()},
    )


def _check_temperature(wood_temperature_c: float | None) -> None:
    if wood_temperature_c is None:
        return
    if isfinite(wood_temperature_c) and COLDEST_C <= wood_temperature_c <= HOTTEST_C:
        return
    hint = ""
    if isfinite(wood_temperature_c) and wood_temperature_c > HOTTEST_C:
        hint = f" If that was Fahrenheit, it is {(wood_temperature_c - 32) / 1.8:.1f} °C."
    raise OutOfRange(
        f"The wood's temperature is improbable.{hint}",
        [Fault("wood temperature", f"{COLDEST_C:g} to {HOTTEST_C:g} °C", f"{wood_temperature_c:g}")],
    )


def _for_temperature(
    reading: float, temperature: float | None, rule: TemperatureRule, tables: MeterTables
) -> tuple[float, str, list[str]]:
    """The reading on the Douglas fir scale, the rule used, and notes."""
    if temperature is None:
        return reading, TemperatureRule.NONE, ["The wood's temperature was not measured."]
    if rule is TemperatureRule.EQUATION:
        return by_equation(reading, temperature), rule, []
    if rule is TemperatureRule.HANDBOOK:
        return by_handbook(reading, temperature), rule, []
    if rule is TemperatureRule.SWEDISH:
        return by_swedish_test(reading, temperature), rule, []
    if rule is TemperatureRule.NONE:
        return reading, rule, []
    points = _between_rows(reading, temperature, tables)
    if points is None:
        return (
            by_equation(reading, temperature),
            TemperatureRule.EQUATION,
            [f"The table has no data for {reading:g} % at {temperature:g} °C; the equation serves."],
        )
    return reading + points, rule, []


def _for_species(
    on_scale: float, name: str, source: str | None, tables: MeterTables
) -> tuple[float | None, str, str]:
    if name in tables.constants:
        a, b = tables.constants[name]
        return (on_scale - b) / a, f"species constants of {name}", ""
    rows = {where: points for (species, where), points in tables.by_species.items() if species == name}
    chosen = {where: rows[where] for where in rows if source is None or _same_place(where, source)}
    if source is not None and source.casefold() in {where.casefold() for where in rows}:
        chosen = {where: rows[where] for where in rows if where.casefold() == source.casefold()}
    if not chosen:
        unknown = f"The species correction of {name} is not known"
        if rows:
            unknown += f" for {source} (the table has {'; '.join(rows)})"
        return on_scale, "no species correction", f"{unknown}; the reading is on the Douglas fir scale."
    added = {where: _between_columns(on_scale, tables.columns, points) for where, points in chosen.items()}
    known = {where: points for where, points in added.items() if points is not None}
    if not known:
        blank = f"no data for {name} at {on_scale:.1f} %"
        return None, blank, f"The species table has {blank}."
    wettest = max(known, key=lambda where: known[where])
    note = ""
    if len(added) > 1 and (len(set(known.values())) > 1 or len(known) < len(added)):
        said = ", ".join(
            f"{where}: " + ("no data" if points is None else f"{on_scale + points:.1f} %")
            for where, points in added.items()
        )
        note = f"The correction of {name} depends on where it grew ({said}); the wettest is taken."
    place = f" ({wettest})" if wettest else ""
    return on_scale + known[wettest], f"species table, {name}{place}", note


def _same_place(where: str, source: str) -> bool:
    return source.casefold() in {part.strip().casefold() for part in where.split(",")}


def _between_rows(reading: float, temperature: float, tables: MeterTables) -> float | None:
    rows = sorted(tables.by_temperature)
    if not rows or not rows[0] <= temperature <= rows[-1]:
        return None
    values = tuple(_between_columns(reading, tables.columns, tables.by_temperature[row]) for row in rows)
    return _between_columns(temperature, tuple(rows), values)


def _between_columns(at: float, columns: tuple[float, ...], points: Points) -> float | None:
    """The correction at `at`, straight between the two columns around it; None where either has no data."""
    if at in columns:
        return points[columns.index(at)]
    for low, high, below, above in zip(columns, columns[1:], points, points[1:], strict=False):
        if low < at < high:
            if below is None or above is None:
                return None
            return below + (above - below) * (at - low) / (high - low)
    return None


def _points(name: str, keys: int) -> tuple[tuple[float, ...], dict[tuple[str, ...], Points]]:
    text = files("stockyard.moisture").joinpath("tables", name).read_text(encoding="utf-8")
    head, *rows = csv.reader(line for line in text.splitlines() if not line.startswith("#"))
    columns = tuple(float(cell) for cell in head[keys:])
    return columns, {
        tuple(row[:keys]): tuple(float(cell) if cell else None for cell in row[keys:]) for row in rows
    }
