"""The ends of boards as they would lie on a shelf: side by side, each at true proportion."""

from collections.abc import Sequence

_GAP_PX = 2.0
_ROW_PX = 9.0


def board_ends(
    sizes_mm: Sequence[tuple[float, float]], width_px: float = 300.0, px_per_mm: float = 0.3
) -> str:
    """A small SVG of boards' ends, in rows as wide as the shelf, each standing on its row's line. [px]

    sizes_mm: width and thickness of each. Styled by the page through its classes.
    """
    rows: list[list[tuple[float, float, float]]] = [[]]
    x = 0.0
    for width_mm, thickness_mm in sizes_mm:
        wide, high = width_mm * px_per_mm, thickness_mm * px_per_mm
        if rows[-1] and x + wide > width_px:
            rows.append([])
            x = 0.0
        rows[-1].append((x, wide, high))
        x += wide + _GAP_PX
    ends, down = [], 0.0
    for row in rows:
        down += max((high for _, _, high in row), default=0.0)
        ends += [
            f'<rect x="{x:.1f}" y="{down - high:.1f}" width="{wide:.1f}" height="{high:.1f}"/>'
            for x, wide, high in row
        ]
        ends.append(f'<path class="shelf" d="M0 {down + 1:.1f}H{width_px:g}"/>')
        down += _ROW_PX
    return (
        f'<svg class="ends" viewBox="0 0 {width_px:g} {down:.1f}" width="{width_px:g}" height="{down:.1f}"'
        f' aria-hidden="true">{"".join(ends)}</svg>'
    )
