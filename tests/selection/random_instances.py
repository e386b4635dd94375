"""Tiny random jobs and stocks over the whole rule set, the same for the same seed."""

from decimal import Decimal
from random import Random

import shapely

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
    MoistureRule,
    Panel,
    Rings,
    Rule,
    Rules,
    Show,
    Stock,
    Unread,
)

SPECIES = ("spotted gum", "blackbutt")


def an_instance(seed):
    """A job and a stock: two to four boards up to 90 x 40 mm, one to three panels of one to three staves."""
    rng = Random(seed)
    job = Job(
        id=f"job-{seed}",
        panels=_panels(rng),
        allowances=_allowances(rng),
        moisture=MoistureRule(
            8,
            rng.choice((12, 13.5, 14)),
            rng.choice((0.5, 1.5, 2, 6)),
            rng.choice((Unread.REFUSE, Unread.ALLOW)),
        ),
        costs=Costs(
            handling=_money(rng, 0, 4),
            recovery=rng.choice((Decimal(0), Decimal("0.35"), Decimal("0.5"), Decimal("0.9"), Decimal(1))),
            match=rng.choice((Decimal(0), Decimal("0.05"), Decimal("0.2"))),
            ring_break=_money(rng, 0, 3),
        ),
        rings=rng.choice(tuple(Rings)),
        rules=Rules(_rules(rng), _rules(rng)),
    )
    # Half the stocks are of narrow, flawed boards, so that panels need several and defects cannot be avoided.
    narrow = rng.random() < 0.5
    boards = tuple(
        _board(rng, f"b{n}", narrow) for n in range(rng.randint(3, 4) if narrow else rng.randint(2, 4))
    )
    reserved = {boards[-1].id: "promised to another job"} if rng.random() < 0.1 else {}
    return job, Stock(boards, "AUD", reserved)


def _panels(rng):
    count = rng.choices((1, 2, 3), (5, 4, 1))[0]
    panels = []
    for number in range(count):
        if panels and rng.random() < 0.25:  # the same again under another name
            panels.append(_again(panels[-1], f"p{number}", rng))
            continue
        most = 3 if count == 1 else 2 if count == 2 else 1
        fewest = rng.randint(1, most)
        greatest = rng.randint(fewest, most)
        each = rng.randint(6, 14)
        spread = rng.randint(0, 5 if greatest < 3 else 3)
        low = max(4, each - spread + rng.randint(0, spread))
        width = max(each * rng.randint(fewest, greatest) + rng.randint(-1, 1), low * fewest)
        panels.append(
            Panel(
                id=f"p{number}",
                length_mm=_mm(rng, 16, 44),
                width_mm=width - rng.choice((0, 0, 0, 0.4)),
                thickness_mm=rng.choice((16, 17.5, 18)),
                species=rng.choice((SPECIES, SPECIES[:1], SPECIES[:1])),
                staves_min=fewest,
                staves_max=greatest,
                stave_width_min_mm=low - rng.choice((0, 0, 0.5)),
                stave_width_max_mm=low + spread + rng.choice((0, 0, 0.5)),
                show=rng.choice(tuple(Show)),
                priority=rng.choice((1, 1, 2)),
            )
        )
    return tuple(panels)


def _again(panel, name, rng):
    return Panel(
        name,
        panel.length_mm,
        panel.width_mm,
        panel.thickness_mm,
        panel.species,
        panel.staves_min,
        panel.staves_max,
        panel.stave_width_min_mm,
        panel.stave_width_max_mm,
        panel.show,
        rng.choice((panel.priority, 2)),
    )


def _allowances(rng):
    return Allowances(
        end_trim_mm=rng.choice((0, 1, 2, 0.7)),
        edge_joint_mm=rng.choice((0, 1, 0.5)),
        side_trim_mm=rng.choice((0, 1, 2)),
        face_planing_mm=rng.choice((0, 0.5, 1, 1.5)),
        board_end_loss_mm=rng.choice((0, 1, 3, 2.5)),
        kerf_mm=rng.choice((0, 1, 2, 1.6)),
        glue_clear_mm=rng.choice((0, 1, 2)),
        end_clear_mm=rng.choice((0, 1, 3)),
        offcut_length_mm=rng.choice((5, 12, 20, 30)),
        offcut_width_mm=rng.choice((3, 6, 10, 15)),
    )


def _rules(rng):
    rules = {}
    for kind in DefectKind:
        do = rng.choices((None, Do.AVOID, Do.TREAT, Do.ACCEPT), (1, 1, 6, 6))[0]
        if do is Do.TREAT:
            rules[kind] = Rule(
                do,
                _money(rng, 0, 3),
                Decimal(rng.randint(0, 10)) / 100,
                rng.choice((None, 8, 12.5, 20)),
                rng.choice((None, 40, 90)),
            )
        elif do is Do.ACCEPT:
            rules[kind] = Rule(do, penalty=_money(rng, 0, 3))
        elif do is Do.AVOID:
            rules[kind] = Rule(do)
    return rules


def _board(rng, name, narrow):
    length, width = (
        (rng.randint(40, 60), rng.randint(11, 20)) if narrow else (rng.randint(40, 90), rng.randint(15, 40))
    )
    if rng.random() < 0.2:
        length, width = length + 0.6, width + 0.3
    bent = rng.random() < 0.5
    colour = rng.random() < 0.7
    return Board(
        id=name,
        species=rng.choice((*SPECIES[:1] * 3, *SPECIES)),
        length_mm=length,
        width_mm=width,
        thickness_mm=rng.choice((21, 22, 23)),
        value=_money(rng, 4, 25 if narrow else 40),
        moisture_pct=rng.choice((None, 9, 9.5, 10, 10, 10.5, 10.5, 11, 11, 11.4, 12, 13, 15.1)),
        distortion=Distortion(
            rng.choice((0, 1, 2)), rng.choice((0, 0.8, 1, 3)), rng.choice((0, 1)), rng.choice((0, 0.5, 2))
        )
        if bent
        else Distortion(),
        heart_face=rng.choice((None, Face.A, Face.B)),
        colour_a=_lab(rng) if colour else None,
        colour_b=_lab(rng) if colour and rng.random() < 0.8 else None,
        defects=tuple(
            _defect(rng, f"{name}/{n}", length, width)
            for n in range(rng.randint(1, 4) if narrow else rng.randint(0, 3))
        ),
    )


def _defect(rng, name, length, width):
    while True:
        long, wide = rng.choice((rng.randint(2, 8), rng.randint(5, 30))), rng.randint(1, 7)
        x0, y0 = rng.uniform(0, length - long), rng.uniform(0, width - wide)
        if rng.random() < 0.6:
            x0, y0 = int(x0), int(y0)
        x0, y0 = round(x0, 1), round(y0, 1)
        shape = rng.choice(("box", "box", "slant", "triangle", "bent"))
        if shape == "box":
            points = ((x0, y0), (x0 + long, y0), (x0 + long, y0 + wide), (x0, y0 + wide))
        elif shape == "slant":
            rise = rng.randint(0, 6)
            points = ((x0, y0), (x0 + long, y0 + rise), (x0 + long, y0 + rise + 1), (x0, y0 + 1))
        elif shape == "triangle":
            points = ((x0, y0), (x0 + long, y0 + wide / 2), (x0, y0 + wide))
        else:
            points = (
                (x0, y0),
                (x0 + long, y0),
                (x0 + long, y0 + 1),
                (x0 + 1, y0 + 1),
                (x0 + 1, y0 + wide + 1),
                (x0, y0 + wide + 1),
            )
        points = tuple((round(x, 1), round(y, 1)) for x, y in points)
        outline = shapely.Polygon(points)
        if outline.is_valid and outline.area > 0 and shapely.box(0, 0, length, width).covers(outline):
            break
    return Defect(
        id=name,
        kind=rng.choice(tuple(DefectKind)),
        face=rng.choice(tuple(Face)),
        outline=points,
        depth_mm=rng.choice((None, None, 0.5, 1, 1.5, 4)),
        opening_mm=None,
    )


def _lab(rng):
    return (round(rng.uniform(40, 70), 1), round(rng.uniform(5, 20), 1), round(rng.uniform(10, 30), 1))


def _money(rng, low, high):
    return Decimal(rng.randint(low * 100, high * 100)) / 100


def _mm(rng, low, high):
    return rng.randint(low, high) - rng.choice((0, 0, 0, 0.3))
