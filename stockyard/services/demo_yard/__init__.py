"""An invented workshop's yard, as plain files a person can open and change.

Everything here is made up: the workshop, its suppliers and clients, the places, and all prices, which are
only of a likely size. tallies/ holds what three suppliers sent with their timber, each in its own manner; the
tables beside it hold what the workshop measured and mapped afterwards, climate/ what its loggers wrote,
jobs/ what its clients ordered.

Boards have no numbers before they are booked, so the tables name each by docket, row of the tally and
piece within that row (1 first). deliveries.json says what each docket comes to besides its tally.
"""

import csv
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

import stockyard
from stockyard.errors import Broken
from stockyard.measures.colour import Lab
from stockyard.timber import DefectKind, Face, Point

CURRENCY = "AUD"
ZONE = "Australia/Sydney"
LOGGERS_READ = date(2025, 11, 6)


@dataclass(frozen=True, slots=True, order=True)
class Where:
    """A board before it has a number. row: of the tally, 1 first; piece: within that row, 1 first."""

    docket: str
    row: int
    piece: int


@dataclass(frozen=True, slots=True)
class DemoCharge:
    """Money besides the timber, without tax. share_by: volume, mass or value. on_docket: or billed apart."""

    name: str
    amount: Decimal
    share_by: str
    on_docket: bool


@dataclass(frozen=True, slots=True)
class DemoDelivery:
    """A delivery: its tally file's name and bytes, and what the docket says besides.

    tax_pct: None for a purchase without tax. docket_total: tax included, charges on the docket included.
    """

    supplier: str
    docket: str
    received_on: date
    file_name: str
    content: bytes
    place: str
    tax_pct: Decimal | None
    docket_total: Decimal
    charges: tuple[DemoCharge, ...]
    provenance: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class DemoPlace:
    """Where a board stands."""

    board: Where
    place: str


@dataclass(frozen=True, slots=True)
class DemoReading:
    """A moisture reading as the meter showed it. raw_pct: [percent]; wood_c: the wood's temperature [°C]."""

    board: Where
    taken_on: date
    raw_pct: float
    wood_c: float
    meter: str
    note: str


@dataclass(frozen=True, slots=True)
class DemoMeasurement:
    """What was found when a board was laid out and looked at; None where it was not measured. [mm]"""

    board: Where
    bow_mm: float | None
    spring_mm: float | None
    cup_mm: float | None
    twist_mm: float | None
    heart_face: Face | None
    colour_a: Lab | None
    colour_b: Lab | None


@dataclass(frozen=True, slots=True)
class DemoDefect:
    """A flaw as a person maps it, in the board frame, by exactly one of box, polygon and line. [mm]

    box: x0, y0, x1, y1. line: a crack's, that gapes opening_mm.
    """

    board: Where
    kind: DefectKind
    face: Face
    box: tuple[float, float, float, float] | None
    polygon: tuple[Point, ...] | None
    line: tuple[Point, ...] | None
    opening_mm: float | None
    depth_mm: float | None
    note: str


@dataclass(frozen=True, slots=True)
class DemoPhoto:
    """A face as it was photographed. pictures: (file name, content) of each, in order from end 1."""

    board: Where
    face: Face
    pictures: tuple[tuple[str, bytes], ...]


@dataclass(frozen=True, slots=True)
class DemoClimate:
    """A climate logger's file. booked: taken in with the demo, else left beside it to be taken in."""

    place: str
    file_name: str
    content: bytes
    booked: bool


@dataclass(frozen=True, slots=True)
class DemoJob:
    """A job ordered: its stockyard.job/1 document, and for whom."""

    name: str
    client: str
    content: bytes


def deliveries() -> tuple[DemoDelivery, ...]:
    """The deliveries, the oldest first."""
    listed = json.loads(_file("deliveries.json").read_text(encoding="utf-8"))
    return tuple(
        DemoDelivery(
            supplier=each["supplier"],
            docket=each["docket"],
            received_on=date.fromisoformat(each["received_on"]),
            file_name=each["file"],
            content=_file("tallies", each["file"]).read_bytes(),
            place=each["place"],
            tax_pct=None if each["tax_pct"] is None else Decimal(each["tax_pct"]),
            docket_total=Decimal(each["docket_total"]),
            charges=tuple(
                DemoCharge(charge["name"], Decimal(charge["amount"]), charge["share_by"], charge["on_docket"])
                for charge in each["charges"]
            ),
            provenance=each["provenance"],
        )
        for each in listed
    )


def places() -> tuple[DemoPlace, ...]:
    """Where each board was put."""
    return tuple(DemoPlace(_where(row), row["place"]) for row in _rows("places.csv"))


def readings() -> tuple[DemoReading, ...]:
    """The moisture readings, each board's in order of time."""
    return tuple(
        DemoReading(
            _where(row),
            date.fromisoformat(row["taken_on"]),
            float(row["raw_pct"]),
            float(row["wood_c"]),
            row["meter"],
            row["note"],
        )
        for row in _rows("readings.csv")
    )


def measurements() -> tuple[DemoMeasurement, ...]:
    """Distortion, heart face and colour, for the boards that were looked at so."""
    return tuple(
        DemoMeasurement(
            _where(row),
            _length(row["bow_mm"]),
            _length(row["spring_mm"]),
            _length(row["cup_mm"]),
            _length(row["twist_mm"]),
            Face(row["heart_face"]) if row["heart_face"] else None,
            _colour(row["colour_a"]),
            _colour(row["colour_b"]),
        )
        for row in _rows("measurements.csv")
    )


def defects() -> tuple[DemoDefect, ...]:
    """The mapped flaws, board by board."""
    return tuple(
        DemoDefect(
            _where(row),
            DefectKind(row["kind"]),
            Face(row["face"]),
            _box(row["points"]) if row["shape"] == "box" else None,
            _points(row["points"]) if row["shape"] == "polygon" else None,
            _points(row["points"]) if row["shape"] == "line" else None,
            _length(row["opening_mm"]),
            _length(row["depth_mm"]),
            row["note"],
        )
        for row in _rows("defects.csv")
    )


def photos() -> tuple[DemoPhoto, ...]:
    """The photographed faces; their pictures lie with the other sample images."""
    folder = _sample_images() / "demo"
    return tuple(
        DemoPhoto(
            _where(row),
            Face(row["face"]),
            tuple((name, (folder / name).read_bytes()) for name in row["files"].split()),
        )
        for row in _rows("photos.csv")
    )


def climates() -> tuple[DemoClimate, ...]:
    """The logged air: of the workshop from autumn on, and of two clients' rooms for a year."""
    return tuple(
        DemoClimate(place, f"{name}.csv", _file("climate", f"{name}.csv").read_bytes(), booked)
        for place, name, booked in (
            ("shop", "shop", True),
            ("hall at Quandong Siding", "quandong-hall", True),
            ("guest house at Brolga Wharf", "brolga-guest-house", False),
        )
    )


def jobs() -> tuple[DemoJob, ...]:
    """The jobs ordered."""
    return (
        DemoJob(
            "hall-bench",
            "the hall committee of Quandong Siding",
            _file("jobs", "hall-bench.json").read_bytes(),
        ),
        DemoJob(
            "linen-cabinet",
            "the guest house at Brolga Wharf",
            _file("jobs", "linen-cabinet.json").read_bytes(),
        ),
    )


def prices() -> bytes:
    """What its suppliers offer, as a price list."""
    return _file("prices.csv").read_bytes()


def _sample_images() -> Path:
    """Where the sample images are: inside an installed package, or beside it in a checkout."""
    package = Path(stockyard.__file__).parent
    for folder in (package / "sample_images", package.parent / "sample_images"):
        if folder.is_dir():
            return folder
    raise Broken("The sample images are missing from this installation of Stockyard; install it again.")


def _file(*path: str) -> Traversable:
    return files("stockyard.services.demo_yard").joinpath(*path)


def _rows(name: str) -> Iterator[dict[str, str]]:
    text = _file(name).read_text(encoding="utf-8")
    return iter(csv.DictReader(text.splitlines()))


def _where(row: Mapping[str, str]) -> Where:
    return Where(row["docket"], int(row["row"]), int(row["piece"]))


def _length(cell: str) -> float | None:
    return float(cell) if cell else None


def _points(cell: str) -> tuple[Point, ...]:
    pairs = (pair.split(",") for pair in cell.split())
    return tuple((float(x), float(y)) for x, y in pairs)


def _box(cell: str) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = (float(figure) for figure in cell.split(","))
    return x0, y0, x1, y1


def _colour(cell: str) -> Lab | None:
    if not cell:
        return None
    lightness, a, b = (float(figure) for figure in cell.split())
    return lightness, a, b
