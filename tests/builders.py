"""Valid values with overrides, so that a test states only what it is about."""

from decimal import Decimal
from typing import Any

from stockyard.timber import Board, Defect, DefectKind, Face, Job, Panel


def a_board(**changes: Any) -> Board:
    """A clear, straight, dry board of spotted gum, 2400 x 180 x 32 mm, worth 48.00."""
    values: dict[str, Any] = {
        "id": "SG-0001",
        "species": "spotted gum",
        "length_mm": 2400,
        "width_mm": 180,
        "thickness_mm": 32,
        "value": Decimal("48.00"),
        "moisture_pct": 11.0,
    }
    return Board(**(values | changes))


def a_box(x0: float, y0: float, x1: float, y1: float) -> tuple[tuple[float, float], ...]:
    """The outline of a rectangle."""
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def a_defect(**changes: Any) -> Defect:
    """A crack of 100 x 4 mm on face A."""
    values: dict[str, Any] = {
        "id": "SG-0001/1",
        "kind": DefectKind.CRACK,
        "face": Face.A,
        "outline": a_box(300, 80, 400, 84),
    }
    return Defect(**(values | changes))


def a_panel(**changes: Any) -> Panel:
    """A top of 1200 x 380 x 24 mm in spotted gum from two to four staves."""
    values: dict[str, Any] = {
        "id": "top",
        "length_mm": 1200,
        "width_mm": 380,
        "thickness_mm": 24,
        "species": ("spotted gum",),
        "staves_min": 2,
        "staves_max": 4,
        "stave_width_min_mm": 70,
        "stave_width_max_mm": 160,
    }
    return Panel(**(values | changes))


def a_job(*panels: Panel, **changes: Any) -> Job:
    """A job of these panels (one `a_panel()` if none are given) under the workshop's default settings."""
    values: dict[str, Any] = {"id": "hall-bench", "panels": panels or (a_panel(),)}
    return Job(**(values | changes))
