import io
import re
from datetime import date
from decimal import Decimal
from itertools import combinations
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from stockyard.errors import BadInput
from stockyard.reports.charts import CHARTS, chart_of
from stockyard.reports.facts import FoundDefect, PieceFacts, StandingPiece
from stockyard.reports.flow import journal_report, worth_report
from stockyard.reports.recovery import defects_report, offcuts_report, recovery_report
from stockyard.reports.report import Report
from stockyard.reports.standing import age_report, moisture_report
from stockyard.timber.movement import Account, Line, Movement, MovementKind

FIRST, LAST = date(2026, 1, 1), date(2026, 3, 31)
MM3 = 10**9


def a_movement(number: int, day: date, kind: MovementKind, *lines: Line) -> Movement:
    return Movement(kind=kind, effective=day, lines=lines, id=number)


BOUGHT = a_movement(
    1, date(2026, 1, 10), MovementKind.RECEIVE,
    Line(piece="SG-0001", on_hand=1, value=Decimal(100), volume_mm3=MM3),
    Line(account=Account.SUPPLIERS, value=Decimal(-100)),
)  # fmt: skip
CUT = a_movement(
    2, date(2026, 2, 10), MovementKind.CUT,
    Line(piece="SG-0001", on_hand=-1, value=Decimal(-100), volume_mm3=-MM3),
    Line(piece="SG-0002", on_hand=1, value=Decimal(30), volume_mm3=MM3 // 4),
    Line(piece="SG-0003", on_hand=1, value=Decimal(70), volume_mm3=MM3 // 2),
)  # fmt: skip
FACTS = {
    "SG-0001": PieceFacts("board", "spotted gum", "Riverbend Mill"),
    "SG-0002": PieceFacts("offcut", "spotted gum", "Riverbend Mill"),
    "SG-0003": PieceFacts("stave", "spotted gum", "Riverbend Mill"),
}


def a_piece(**changes: Any) -> StandingPiece:
    told: dict[str, Any] = {
        "number": "SG-0001", "kind": "board", "species": "spotted gum", "length_mm": 2400, "width_mm": 180,
        "thickness_mm": 32, "place": "rack 1", "status": "free", "supplier": "Riverbend Mill", "docket": "77",
        "arrived": date(2026, 1, 10), "volume_mm3": 13824000, "worth": Decimal(48),
    }  # fmt: skip
    return StandingPiece(**(told | changes))


PIECES = [
    a_piece(moisture_pct=11.0, moisture_on=date(2026, 2, 1)),
    a_piece(number="SG-0002", arrived=date(2023, 1, 1)),
    a_piece(number="JA-0001", species="jarrah", docket="78"),
]
FOUND = [
    FoundDefect("SG-0001", "Riverbend Mill", "sound_knot"),
    FoundDefect("JA-0001", "Hill $ Sons $", "wane"),
]
REPORTS: dict[str, Report] = {
    "worth": worth_report([BOUGHT, CUT], FIRST, LAST, "AUD"),
    "age": age_report(PIECES, LAST, "AUD"),
    "moisture": moisture_report(PIECES, LAST, "AUD"),
    "recovery": recovery_report([BOUGHT, CUT], FACTS, FIRST, LAST, "AUD"),
    "offcuts": offcuts_report([BOUGHT, CUT], FACTS, FIRST, LAST, "AUD"),
    "defects": defects_report(FOUND, {"Riverbend Mill": 2, "Hill $ Sons $": 1}, FIRST, LAST, "AUD"),
}
SAID = {
    "worth": ("Jan 2026", "bought", "100"),
    "age": ("spotted gum", "jarrah", "to 90 days", "over 2 years"),
    "moisture": ("77, spotted gum", "mean 11.0, 2 pieces, 1 unread", "not read"),
    "recovery": ("Riverbend Mill, spotted gum", "50 %", "25 %", "waste"),
    "offcuts": ("spotted gum", "cut again", "on hand"),
    "defects": ("sound knot", "wane", "Hill $ Sons $"),
}


def written(svg: bytes) -> set[str]:
    root = ElementTree.fromstring(svg)
    return {"".join(each.itertext()).strip() for each in root.iter("{http://www.w3.org/2000/svg}text")}


@pytest.mark.parametrize("name", sorted(CHARTS))
def test_a_chart_says_what_its_bars_are(name: str) -> None:
    text = written(chart_of(REPORTS[name]))

    assert set(SAID[name]) <= text
    assert any(line.startswith(REPORTS[name].title) for line in text)


@pytest.mark.parametrize("name", sorted(CHARTS))
def test_a_chart_is_a_picture_of_its_own_two_hundred_millimetres_wide(name: str) -> None:
    picture = Image.open(io.BytesIO(chart_of(REPORTS[name], "png")))
    svg = chart_of(REPORTS[name]).decode()

    assert (picture.format, round(picture.width / 200 * 25.4)) == ("PNG", 203)
    assert np.asarray(picture.convert("L")).std() > 10
    assert not re.search(r'href="(?!#)', svg)
    assert "<script" not in svg


def test_the_same_report_gives_the_same_bytes() -> None:
    assert chart_of(REPORTS["recovery"]) == chart_of(REPORTS["recovery"])


def test_parts_of_a_bar_can_be_told_apart_without_colour() -> None:
    """Swatches of the looks in grey: by how light they are and how much that varies."""
    from matplotlib.figure import Figure

    from stockyard.reports.charts import _LOOKS, _STYLE

    figure = Figure(figsize=(8, 1), dpi=100)
    axes = figure.add_axes((0, 0, 1, 1))
    for place, (fill, hatch) in enumerate(_LOOKS):
        axes.bar(place + 0.5, 1, 1, color=fill, hatch=hatch, edgecolor=_STYLE["text.color"])
    axes.set(xlim=(0, 8), ylim=(0, 1))
    made = io.BytesIO()
    figure.savefig(made, format="png")
    grey = np.asarray(Image.open(made).convert("L")).astype(float)
    swatches = [grey[20:80, 100 * n + 15 : 100 * n + 85] for n in range(len(_LOOKS))]
    for one, other in combinations(swatches, 2):
        sideways = [abs(np.diff(each, axis=1)).mean() for each in (one, other)]
        upright = [abs(np.diff(each, axis=0)).mean() for each in (one, other)]
        apart = max(
            abs(one.mean() - other.mean()), abs(sideways[0] - sideways[1]), abs(upright[0] - upright[1])
        )
        assert apart > 8


@pytest.mark.parametrize(
    ("report", "form", "said"),
    [
        (journal_report([BOUGHT], FIRST, LAST, "AUD"), "svg", "has no chart; these have: worth, age"),
        (age_report([], LAST, "AUD"), "svg", "nothing to draw"),
        (REPORTS["age"], "pdf", "svg or png"),
    ],
)
def test_what_cannot_be_drawn_is_said(report: Report, form: str, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        chart_of(report, form)


def test_a_hundred_dockets_still_make_a_page() -> None:
    many = moisture_report([a_piece(number=f"SG-{n:04d}", docket=f"{n}") for n in range(100)], LAST, "AUD")

    assert Image.open(io.BytesIO(chart_of(many, "png"))).height < 4000
