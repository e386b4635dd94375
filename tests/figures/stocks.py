"""Stocks and jobs to measure selection on, drawn from a stated generator and a seed.

Boards: three species, 1.8 to 4.8 m in steps of 0.3 m, 90 to 300 mm wide, 32 mm thick (a tenth of them 25),
moisture mostly 9 to 13 %, a tenth never read, worth by volume and quality, bow, spring and cup of a few mm on
some, 0 to 12 flaws each: cracks along the grain (some slanting), checks at ends, bark, knots, gum veins,
sapwood along an edge. A third carry colours and heart faces.
"""

import random
from decimal import Decimal

from stockyard.timber import (
    Allowances,
    Board,
    Costs,
    Defect,
    DefectKind,
    Distortion,
    Do,
    Face,
    Job,
    Outline,
    Panel,
    Rule,
    Rules,
    Stock,
)

SPECIES = ("spotted gum", "blackbutt", "jarrah")
PRICE_PER_M3 = {"spotted gum": 5250, "blackbutt": 4200, "jarrah": 5900}


def a_stock(count: int, seed: int) -> Stock:
    """`count` boards drawn with `seed`."""
    draw = random.Random(seed)
    return Stock(tuple(_board(number, draw) for number in range(1, count + 1)))


def bench_and_sides(rings: bool = False) -> Job:
    """Four panels of three staves: two tops 1800 x 450, sides 300 and 420 long."""
    sizes = (("top", 1800), ("second top", 1800), ("low side", 300), ("high side", 420))
    return _job("bench", [(name, length, 450, 3, 3, 100, 160) for name, length in sizes], rings)


def many_panels(count: int) -> Job:
    """`count` panels of mixed sizes, two to five staves each."""
    draw = random.Random(count)
    panels = []
    for number in range(count):
        length, width = draw.choice([300, 420, 600, 720, 900, 1200, 1800]), draw.choice([300, 360, 450, 520])
        panels.append((f"panel {number + 1}", length, width, 2, 5, 70, 180))
    return _job(f"{count} panels", panels, rings=False)


def _job(name: str, panels: list[tuple[str, int, int, int, int, int, int]], rings: bool) -> Job:
    treat = Rule(Do.TREAT, Decimal("2.00"), Decimal("0.01"), max_length_mm=200, max_area_mm2=3000)
    accept = Rule(Do.ACCEPT)
    return Job(
        id=name,
        panels=tuple(
            Panel(name, length, width, 24, ("spotted gum",), least, most, narrow, wide)
            for name, length, width, least, most, narrow, wide in panels
        ),
        allowances=Allowances(),
        costs=Costs(match=Decimal("0.2") if rings else Decimal(0)),
        rules=Rules(
            show={
                DefectKind.CRACK: treat,
                DefectKind.CHECK: treat,
                DefectKind.BARK_INCLUSION: Rule(Do.TREAT, Decimal("5.00"), Decimal("0.02"), 120, 6000),
                DefectKind.SOUND_KNOT: Rule(Do.ACCEPT, penalty=Decimal("3.00")),
                DefectKind.GUM_VEIN: Rule(Do.ACCEPT, penalty=Decimal("1.50")),
            },
            back=dict.fromkeys(
                (
                    DefectKind.CRACK,
                    DefectKind.CHECK,
                    DefectKind.SOUND_KNOT,
                    DefectKind.GUM_VEIN,
                    DefectKind.SAPWOOD,
                ),
                accept,
            ),
        ),
    )


def _board(number: int, draw: random.Random) -> Board:
    species = draw.choice(SPECIES)
    length, width = 1800 + 300 * draw.randrange(11), draw.randrange(90, 301, 5)
    thickness = 25 if draw.random() < 0.1 else 32
    volume = Decimal(length * width * thickness).scaleb(-9)
    quality = Decimal(draw.randrange(80, 125)).scaleb(-2)
    known = draw.random() < 1 / 3
    return Board(
        id=f"{species[:2].upper()}-{number:05d}",
        species=species,
        length_mm=length,
        width_mm=width,
        thickness_mm=thickness,
        value=(volume * PRICE_PER_M3[species] * quality).quantize(Decimal("0.01")),
        moisture_pct=None if draw.random() < 0.1 else round(draw.gauss(11, 1.2), 1),
        distortion=Distortion(
            *(draw.choice((0, 0, 0, 1, 2, 4)) for _ in range(2)), *(draw.choice((0, 0, 1)) for _ in range(2))
        ),
        heart_face=draw.choice((Face.A, Face.B)) if known else None,
        colour_a=_colour(draw) if known else None,
        colour_b=_colour(draw) if known else None,
        defects=tuple(_defect(f"{number}/{n}", length, width, draw) for n in range(draw.randrange(13))),
    )


def _colour(draw: random.Random) -> tuple[float, float, float]:
    return (round(draw.gauss(50, 3), 1), round(draw.gauss(12, 2), 1), round(draw.gauss(21, 2), 1))


def _defect(id_: str, length: int, width: int, draw: random.Random) -> Defect:
    kind = draw.choices(
        (
            DefectKind.CRACK,
            DefectKind.CHECK,
            DefectKind.BARK_INCLUSION,
            DefectKind.SOUND_KNOT,
            DefectKind.UNSOUND_KNOT,
            DefectKind.GUM_VEIN,
            DefectKind.SAPWOOD,
        ),
        (5, 3, 2, 4, 1, 4, 1),
    )[0]
    face = draw.choice((Face.A, Face.B, Face.BOTH))
    depth = draw.choice((None, 1.0, 4.0)) if face is not Face.BOTH else None
    return Defect(id_, kind, face, _outline(kind, length, width, draw), depth)


def _outline(kind: DefectKind, length: int, width: int, draw: random.Random) -> Outline:
    if kind is DefectKind.SAPWOOD:
        deep, start = draw.randrange(5, 20), draw.randrange(0, length // 2)
        return _box(start, 0, min(length, start + draw.randrange(300, 1500)), deep)
    if kind is DefectKind.CHECK:
        long, at = draw.randrange(20, 120), draw.randrange(5, width - 5)
        start = 0 if draw.random() < 0.5 else length - long
        return _box(start, at, start + long, at + 2)
    if kind in (DefectKind.CRACK, DefectKind.GUM_VEIN):
        long, high = draw.randrange(60, 400), draw.choice((2, 3, 4))
        x, y = draw.randrange(0, length - long), draw.randrange(12, width - 16)
        lean = draw.choice((0, 0, -6, 6))
        return ((x, y), (x + long, y + lean), (x + long, y + lean + high), (x, y + high))
    along, across = draw.randrange(12, 90), draw.randrange(10, 35)
    x, y = draw.randrange(0, length - along), draw.randrange(0, width - across)
    return _box(x, y, x + along, y + across)


def _box(x0: int, y0: int, x1: int, y1: int) -> Outline:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
