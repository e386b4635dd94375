"""A board's moisture over time against where the shop's air takes it, as a small chart.

Readings are a line with dots, the air a dashed stair, what counts as ready a band; the page's styles colour
them, and no two are told apart by colour alone.
"""

from datetime import date, timedelta
from html import escape

from stockyard.services.board_moisture import BoardMoisture
from stockyard.web.texts import counted, text

_WIDE, _HIGH = 720.0, 240.0
_LEFT, _RIGHT, _TOP, _FOOT = 66.0, 12.0, 12.0, 34.0


def moisture_chart(found: BoardMoisture) -> str:
    """The chart as an SVG; "" where nothing was read."""
    dots = [(each.taken_on, each.corrected_pct) for each in found.readings if each.corrected_pct is not None]
    if not dots:
        return ""
    first, last = dots[0][0], max(found.today, dots[-1][0] + timedelta(days=1))
    ready = found.judged.readiness if found.judged else None
    levels = [pct for _, pct in dots] + [month.emc_pct for month in found.emc]
    if ready is not None:
        levels += [ready.low_pct, ready.high_pct]
    low, high = int(min(levels)) // 2 * 2, (int(max(levels)) // 2 + 1) * 2

    def x(day: date) -> float:
        return _LEFT + (_WIDE - _LEFT - _RIGHT) * (day - first).days / max((last - first).days, 1)

    def y(pct: float) -> float:
        return _HIGH - _FOOT - (_HIGH - _TOP - _FOOT) * (pct - low) / (high - low)

    parts = []
    if ready is not None:
        top, foot = y(min(ready.high_pct, high)), y(max(ready.low_pct, low))
        parts.append(
            f'<rect class="band" x="{_LEFT:.0f}" y="{top:.1f}" width="{_WIDE - _LEFT - _RIGHT:.0f}"'
            f' height="{foot - top:.1f}"/>'
            f'<text class="note" x="{_WIDE - _RIGHT - 4:.0f}" y="{top + 18:.1f}" text-anchor="end">'
            f"{escape(text('board.chart.ready'))}</text>"
        )
    step = 2 if high - low <= 14 else 4
    for pct in range(low, high + 1, step):
        parts.append(
            f'<line class="grid" x1="{_LEFT:.0f}" x2="{_WIDE - _RIGHT:.0f}"'
            f' y1="{y(pct):.1f}" y2="{y(pct):.1f}"/>'
            f'<text x="{_LEFT - 6:.0f}" y="{y(pct) + 4:.1f}" text-anchor="end">{pct} %</text>'
        )
    for day, anchor in ((first, "start"), (last, "end")):
        parts.append(
            f'<text x="{x(day):.1f}" y="{_HIGH - 8:.0f}" text-anchor="{anchor}">{day.day} {day:%b %Y}</text>'
        )
    stair = "".join(
        f"{'M' if place == 0 else 'L'}{x(max(month.first, first)):.1f} {y(month.emc_pct):.1f}"
        f"H{x(min(month.last, last)):.1f}"
        for place, month in enumerate(found.emc)
    )
    if stair:
        parts.append(f'<path class="air" d="{stair}"/>')
        newest = found.emc[-1]
        ends = x(min(newest.last, last))
        beside = ends < 0.5 * _WIDE
        at = ends + 6 if beside else _WIDE - _RIGHT - 4
        parts.append(
            f'<text class="note" x="{at:.0f}" y="{y(newest.emc_pct) + (5 if beside else 18):.1f}"'
            f' text-anchor="{"start" if beside else "end"}">{escape(text("board.chart.air"))}</text>'
        )
    line = " ".join(f"{x(day):.1f},{y(pct):.1f}" for day, pct in dots)
    parts.append(f'<polyline class="read" points="{line}"/>')
    parts += [
        f'<circle class="dot" cx="{x(day):.1f}" cy="{y(pct):.1f}" r="4.5">'
        f"<title>{day}: {pct:.1f} %</title></circle>"
        for day, pct in dots
    ]
    told = counted("board.chart.told", len(dots), first=f"{dots[0][1]:.1f}", last=f"{dots[-1][1]:.1f}")
    return (
        f'<svg class="moisture" viewBox="0 0 {_WIDE:.0f} {_HIGH:.0f}" role="img" aria-label="{escape(told)}">'
        f"{''.join(parts)}</svg>"
    )
