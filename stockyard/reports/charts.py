"""Reports as charts, SVG or PNG, told apart by hatching and words so that they read in black and white."""

import io
import warnings
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from stockyard.errors import BadInput, MissingPart
from stockyard.reports.report import Report

if TYPE_CHECKING:
    from matplotlib.axes import Axes

CHART_FORMS = ("svg", "png")
"""How a chart is written."""

_WIDE_IN = 8.0
_ROW_IN = 0.34
_MOST_ROWS = 40
_INK, _SOFT = "#1d1b18", "#5f5b54"
_LOOKS = (
    ("#ffffff", ""),
    ("#c9c3b6", "////"),
    ("#1d1b18", ""),
    ("#ffffff", "...."),
    ("#8a857b", ""),
    ("#ffffff", "xxxx"),
    ("#e4dfd4", "----"),
    ("#ffffff", "++++"),
)
"""Fills for neighbours in a bar: no two alike once colour is gone."""

_STYLE: Any = {
    "font.family": ["DejaVu Sans", "sans-serif"],
    "font.size": 9,
    "text.color": _INK,
    "axes.edgecolor": _SOFT,
    "axes.labelcolor": _INK,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "hatch.linewidth": 0.7,
    "legend.frameon": False,
    "svg.fonttype": "none",
    "svg.hashsalt": "stockyard",
    # A supplier's name may hold a dollar sign, and is no formula.
    "text.parse_math": False,
}


def chart_of(report: Report, form: str = "svg") -> bytes:
    """The chart of a report, 200 mm wide, at 200 dots to the inch where it is PNG.

    form: "svg" or "png". The same report gives the same bytes. Raises BadInput where the report has no chart
    or nothing to show, or there is no such form; MissingPart without Matplotlib.
    """
    if report.name not in CHARTS:
        raise BadInput(f"The {report.name} report has no chart; these have: {', '.join(CHARTS)}.")
    if form not in CHART_FORMS:
        raise BadInput(f"chart: expected {' or '.join(CHART_FORMS)}, found {form!r}.")
    if not report.rows:
        raise BadInput(f"{report.title}, {report.span}: there is nothing to draw.")
    try:
        from matplotlib import rc_context
        from matplotlib.figure import Figure
    except ImportError as trouble:
        raise MissingPart("Charts are drawn with Matplotlib: pip install matplotlib.") from trouble
    draw, rows_of = CHARTS[report.name]
    with rc_context(_STYLE), warnings.catch_warnings():
        # A letter that the font lacks is drawn as a box; that is no reason to draw nothing.
        warnings.simplefilter("ignore", UserWarning)
        rows = min(rows_of(report), _MOST_ROWS)
        figure = Figure(figsize=(_WIDE_IN, max(3.2, 1.7 + _ROW_IN * rows)), layout="constrained")
        axes = figure.add_subplot()
        draw(report, axes)
        axes.set_title(f"{report.title}, {report.span}", loc="left", fontweight="bold")
        made = io.BytesIO()
        told = {"Title": f"{report.title}, {report.span}", **({"Date": None} if form == "svg" else {})}
        figure.savefig(made, format=form, dpi=200, metadata=told)
    return made.getvalue()


def _worth(report: Report, axes: "Axes") -> None:
    rows = _named(report)
    places = range(len(rows))
    into = [float(row["bought"]) for row in rows]
    out = [-sum(float(row[name]) for name in ("to_jobs", "written_down", "lost")) for row in rows]
    axes.bar(places, into, 0.6, color="#ffffff", edgecolor=_INK, hatch="////", label="bought")
    axes.bar(places, out, 0.6, color="#c9c3b6", edgecolor=_INK, label="to jobs, written down, lost")
    worth = [float(row["worth"]) for row in rows]
    axes.plot(places, worth, color=_INK, marker="o", linewidth=1.6, label="worth of the stock")
    axes.axhline(0, color=_SOFT, linewidth=0.8)
    step = max(1, len(rows) // 12)
    axes.set_xticks(
        list(places)[::step], [f"{row['until']:%b %Y}" for row in rows][::step], rotation=45, ha="right"
    )
    axes.set_ylabel(report.currency)
    axes.annotate(f"{worth[-1]:,.0f}", (len(rows) - 1, worth[-1]), xytext=(6, 4), textcoords="offset points")
    figure = axes.get_figure(root=True)
    assert figure is not None
    figure.legend(loc="outside lower left", ncols=3)


def _age(report: Report, axes: "Axes") -> None:
    rows = _named(report)
    classes = list(
        dict.fromkeys(row["age"] for row in sorted(rows, key=lambda row: row["oldest"], reverse=True))
    )
    species = _first({row["species"]: None for row in rows})
    told = {(row["species"], row["age"]): float(row["gross_m3"]) for row in rows}
    _stacked(axes, species, [(age, [told.get((one, age), 0.0) for one in species]) for age in classes])
    axes.set_xlabel("gross m3")


def _moisture(report: Report, axes: "Axes") -> None:
    rows = _named(report)[:_MOST_ROWS]
    names = [f"{row['docket'] or 'no docket'}, {row['species']}" for row in rows]
    for place, row in enumerate(rows):
        if row["mean_pct"] is None:
            axes.text(0.01, place, "not read", transform=axes.get_yaxis_transform(), va="center", color=_SOFT)
            continue
        low, high = float(row["lowest_pct"]), float(row["highest_pct"])
        axes.plot((low, high), (place, place), color=_INK, linewidth=1.6, marker="|", markersize=9)
        axes.plot(float(row["mean_pct"]), place, color=_INK, marker="D", markersize=5)
        unread = f", {row['unread']} unread" if row["unread"] else ""
        axes.annotate(
            f"mean {float(row['mean_pct']):.1f}, {row['pieces']} pieces{unread}",
            (high, place), xytext=(8, 0), textcoords="offset points", va="center", color=_SOFT,
        )  # fmt: skip
    _rows(axes, names)
    axes.margins(x=0.3)
    axes.set_xlabel("moisture, %: lowest, mean and highest reading")


def _recovery(report: Report, axes: "Axes") -> None:
    rows = _named(report)[:_MOST_ROWS]
    names = [f"{row['supplier'] or 'no supplier'}, {row['species']}" for row in rows]

    def share(name: str) -> list[float]:
        return [100 * float(row[name]) / float(row["cut_m3"]) if row["cut_m3"] else 0.0 for row in rows]

    parts = [("staves", "staves_m3"), ("offcuts kept", "offcuts_m3"), ("waste", "waste_m3")]
    _stacked(axes, names, [(said, share(name)) for said, name in parts], figures="{:.0f} %")
    axes.set_xlabel("% of what was cut, by volume")


def _offcuts(report: Report, axes: "Axes") -> None:
    rows = _named(report)[:_MOST_ROWS]
    parts = [("made", "made"), ("cut again", "used"), ("lost", "lost"), ("on hand", "standing")]
    _beside(
        axes,
        [row["species"] for row in rows],
        [(said, [float(row[name]) for row in rows]) for said, name in parts],
    )
    axes.set_xlabel("offcuts")


def _defects(report: Report, axes: "Axes") -> None:
    rows = _named(report)
    kinds = _first({row["kind"]: None for row in sorted(rows, key=lambda row: -row["defects"])})
    suppliers = list(dict.fromkeys(row["supplier"] for row in rows))[: len(_LOOKS)]
    told = {(row["kind"], row["supplier"]): float(row["affected_pct"] or 0) for row in rows}
    _beside(
        axes,
        kinds,
        [(one or "no supplier", [told.get((kind, one), 0.0) for kind in kinds]) for one in suppliers],
    )
    axes.set_xlabel("% of the supplier's boards that have it")


def _stacked(
    axes: "Axes", names: Sequence[str], parts: Sequence[tuple[str, list[float]]], figures: str = ""
) -> None:
    """Bars across the page, each of parts one after the other."""
    starts = [0.0] * len(names)
    for number, (said, values) in enumerate(parts):
        fill, hatch = _LOOKS[number % len(_LOOKS)]
        bars = axes.barh(
            range(len(names)), values, 0.62, left=starts, color=fill, hatch=hatch, edgecolor=_INK, label=said
        )
        if figures:
            shown = [figures.format(value) if value >= 8 else "" for value in values]
            axes.bar_label(
                bars, shown, label_type="center", fontsize=8,
                bbox={"facecolor": "#ffffff", "edgecolor": "none", "pad": 1.2},
            )  # fmt: skip
        starts = [start + value for start, value in zip(starts, values, strict=True)]
    _rows(axes, names)
    _legend(axes)


def _beside(axes: "Axes", names: Sequence[str], parts: Sequence[tuple[str, list[float]]]) -> None:
    """Bars across the page, those of one name beside each other."""
    thick = 0.8 / len(parts)
    for number, (said, values) in enumerate(parts):
        fill, hatch = _LOOKS[number % len(_LOOKS)]
        places = [row - 0.4 + thick * (number + 0.5) for row in range(len(names))]
        axes.barh(places, values, thick, color=fill, hatch=hatch, edgecolor=_INK, label=said)
    _rows(axes, names)
    _legend(axes)


def _rows(axes: "Axes", names: Sequence[str]) -> None:
    axes.set_yticks(range(len(names)), [name if len(name) <= 44 else f"{name[:43]}…" for name in names])
    axes.set_ylim(len(names) - 0.4, -0.6)
    axes.grid(axis="x", color="#e4dfd4", linewidth=0.8)
    axes.set_axisbelow(True)


def _legend(axes: "Axes") -> None:
    axes.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), handlelength=2.4, handleheight=1.4)


def _named(report: Report) -> list[dict[str, Any]]:
    names = [column.name for column in report.columns]
    return [dict(zip(names, row, strict=True)) for row in report.rows]


def _first(names: Mapping[str, None]) -> list[str]:
    return list(names)[:_MOST_ROWS]


def _distinct(name: str, each: int = 1) -> Callable[[Report], int]:
    return lambda report: each * report.frame[name].nunique()


CHARTS: Mapping[str, tuple[Callable[[Report, "Axes"], None], Callable[[Report], int]]] = {
    "worth": (_worth, lambda _: 10),
    "age": (_age, _distinct("species")),
    "moisture": (_moisture, lambda report: len(report.frame)),
    "recovery": (_recovery, lambda report: len(report.frame)),
    "offcuts": (_offcuts, _distinct("species", 2)),
    "defects": (_defects, _distinct("kind", 2)),
}
"""Which reports have a chart: how it is drawn, and how many rows it takes."""
