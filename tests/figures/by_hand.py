"""What a person does without Stockyard: go along the rack, cut from the left, clear timber only.

Two habits, as baselines: boards in rack order ("the maker's habit") and the cheapest by area first. Each
section holds one stave, as wide as the widest strip without any flaw on either face; a panel's last stave is
trimmed to what is wanting. Returns what the boards cut are worth, or None when a panel cannot be made so.
"""

from collections.abc import Iterable, Sequence
from decimal import Decimal
from itertools import product
from math import ceil

from stockyard.geometry.footprint import footprint
from stockyard.timber import Board, Job, Panel, Window


def in_rack_order(boards: Sequence[Board], job: Job) -> Decimal | None:
    """Worth of the boards cut by the maker's habit."""
    return _cut(boards, job)


def cheapest_first(boards: Sequence[Board], job: Job) -> Decimal | None:
    """Worth of the boards cut when the cheapest by area are taken first."""
    return _cut(sorted(boards, key=lambda b: b.value / Decimal(b.length_mm * b.width_mm)), job)


def _cut(boards: Iterable[Board], job: Job) -> Decimal | None:
    rack = [board for board in boards if _dry(board, job)]
    reached: dict[str, int] = {}  # how far along each cut board the saw has come
    for panel in job.panels:
        if not _make(panel, rack, reached, job):
            return None
    return sum((board.value for board in rack if board.id in reached), Decimal(0))


def _make(panel: Panel, rack: Sequence[Board], reached: dict[str, int], job: Job) -> bool:
    """Cut one panel's staves from the rack; the boards cut and how far go into `reached`."""
    wanting, staves = ceil(panel.width_mm), 0
    cut_here: dict[str, int] = {}
    moistures: list[float] = []
    species = None
    for board in rack:
        if board.species not in panel.species or species not in (None, board.species):
            continue
        if not _thick(board, panel, job) or not _near(board, moistures, job):
            continue
        at = cut_here.get(board.id, reached.get(board.id, ceil(job.allowances.board_end_loss_mm)))
        while staves < panel.staves_max:
            left = panel.staves_max - staves - 1
            found = _stave(board, panel, at, wanting, left, job)
            if found is None:
                break
            end, width = found
            at = end + ceil(job.allowances.kerf_mm)
            cut_here[board.id], wanting, staves = at, wanting - width, staves + 1
            species = board.species
            if board.moisture_pct is not None:
                moistures.append(board.moisture_pct)
            if wanting == 0 and staves >= panel.staves_min:
                reached.update(cut_here)
                return True
    return False


def _stave(
    board: Board, panel: Panel, start: int, wanting: int, left: int, job: Job
) -> tuple[int, int] | None:
    """The first section from `start` on with a clear strip wide enough: its end, and its finished width."""
    a = job.allowances
    length = ceil(panel.length_mm) + 2 * ceil(a.end_trim_mm)
    margins = ceil(a.side_trim_mm) + ceil(a.edge_joint_mm) + ceil(board.distortion.spring_mm)
    narrow, wide = ceil(panel.stave_width_min_mm), int(panel.stave_width_max_mm)
    boxes = [box for defect in board.defects for box in footprint(defect.outline)]
    last = int(board.length_mm) - ceil(a.board_end_loss_mm) - length
    for x in [start, *sorted(box.x1 for box in boxes if box.x1 > start)]:
        if x > last:
            return None
        strip = _widest_strip(boxes, Window(x, 0, x + length, int(board.width_mm)))
        width = min(wide, strip - margins, wanting)
        if wanting - width and wanting - width < narrow:  # leave the next one enough to be a stave
            width = wanting - narrow
        if width >= narrow and wanting - width <= left * wide:
            return x + length, width
    return None


def _widest_strip(boxes: Iterable[Window], section: Window) -> int:
    met = [box for box in boxes if box.meets(section)]
    lows, highs = {0, *(box.y1 for box in met)}, {section.y1, *(box.y0 for box in met)}
    clear = [
        high - low
        for low, high in product(lows, highs)
        if low < high and not any(box.y0 < high and low < box.y1 for box in met)
    ]
    return max(clear, default=0)


def _dry(board: Board, job: Job) -> bool:
    return (
        board.moisture_pct is not None and job.moisture.min_pct <= board.moisture_pct <= job.moisture.max_pct
    )


def _near(board: Board, moistures: Sequence[float], job: Job) -> bool:
    all_of_them = [*moistures, board.moisture_pct or 0]
    return max(all_of_them) - min(all_of_them) <= job.moisture.spread_pct


def _thick(board: Board, panel: Panel, job: Job) -> bool:
    bend = board.distortion
    left = board.thickness_mm - bend.bow_mm - bend.cup_mm - bend.twist_mm - 2 * job.allowances.face_planing_mm
    return left >= panel.thickness_mm
