"""Plans laid out by hand, lawful by construction, for drawings to draw."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from stockyard.timber import (
    Board,
    BoardCut,
    CostParts,
    Face,
    Job,
    MadePanel,
    Offcut,
    Panel,
    Plan,
    Section,
    Status,
    Stave,
    Strip,
    StripUse,
    Treatment,
    Window,
)


@dataclass(frozen=True)
class Wanted:
    """A stave to be laid: cut with its rough window's low corner at (x, y) of the board."""

    board: Board
    width: int
    x: int = 20
    y: int = 0
    show: Face = Face.A
    turned: bool = False
    treat: tuple[str, ...] = ()
    accept: tuple[str, ...] = ()


def a_plan(job: Job, laid: dict[str, Sequence[Wanted]], unmade: dict[str, str] | None = None) -> Plan:
    """A plan that makes the panels in `laid` so, and says why of those in `unmade`."""
    made = []
    for panel in job.panels:
        if panel.id in laid:
            wanted = laid[panel.id]
            staves = tuple(_stave(job, panel, w, i, len(wanted)) for i, w in enumerate(wanted))
            made.append(MadePanel(panel.id, staves))
        else:
            made.append(MadePanel(panel.id, why=(unmade or {}).get(panel.id, "no board is long enough")))
    boards = {w.board.id: w.board for wanted in laid.values() for w in wanted}
    cuts = tuple(_cut(job, board, made) for board in boards.values())
    return Plan(
        job, "AUD", Status.OPTIMAL, CostParts(timber=Decimal(90)), Decimal(90), 0.1, tuple(made), cuts, ()
    )


def _stave(job: Job, panel: Panel, wanted: Wanted, place: int, count: int) -> Stave:
    trim = job.allowances
    joint, side, end = int(trim.edge_joint_mm), int(trim.side_trim_mm), int(trim.end_trim_mm)
    low_outer, high_outer = place == 0, place == count - 1
    if (wanted.show is Face.B) != wanted.turned:
        low_outer, high_outer = high_outer, low_outer
    low, high = (side if low_outer else joint), (side if high_outer else joint)
    finished = Window(
        wanted.x + end,
        wanted.y + low,
        wanted.x + end + int(panel.length_mm),
        wanted.y + low + wanted.width,
    )
    rough = Window(wanted.x, wanted.y, finished.x1 + end, finished.y1 + high)
    treat = tuple(Treatment(name, "thin cyanoacrylate", Decimal("2.50")) for name in wanted.treat)
    return Stave(wanted.board.id, wanted.show, wanted.turned, finished, rough, treat, wanted.accept)


def _cut(job: Job, board: Board, made: Sequence[MadePanel]) -> BoardCut:
    """Sections by common start, strips by height, offcuts where they are big enough."""
    kerf = int(job.allowances.kerf_mm)
    least = (int(job.allowances.offcut_length_mm), int(job.allowances.offcut_width_mm))
    staves = [
        (stave, panel.id, place)
        for panel in made
        for place, stave in enumerate(panel.staves)
        if stave.board == board.id
    ]
    sections, offcuts = [], []
    reached = 0
    width, length = int(board.width_mm), int(board.length_mm)
    for x0 in sorted({stave.rough.x0 for stave, _, _ in staves}):
        here = sorted((s for s in staves if s[0].rough.x0 == x0), key=lambda s: s[0].rough.y0)
        x1 = max(stave.rough.x1 for stave, _, _ in here)
        if x0 - kerf - reached >= least[0]:
            offcuts.append(Offcut(Window(reached, 0, x0 - kerf, width), Decimal("7.25")))
        strips = []
        y = 0
        for stave, panel, place in here:
            if stave.rough.y0 - kerf > y:
                strips.append(_spare(y, stave.rough.y0 - kerf, x1 - x0, least))
            strips.append(Strip(StripUse.STAVE, stave.rough.y0, stave.rough.y1, panel, place))
            y = stave.rough.y1 + kerf
        if y < width:
            strips.append(_spare(y, width, x1 - x0, least))
        sections.append(Section(x0, x1, tuple(strips)))
        offcuts += [
            Offcut(Window(x0, s.y0, x1, s.y1), Decimal("3.10")) for s in strips if s.use is StripUse.OFFCUT
        ]
        reached = x1 + kerf
    if length - reached >= least[0]:
        offcuts.append(Offcut(Window(reached, 0, length, width), Decimal("11.20")))
    return BoardCut(board.id, tuple(sections), tuple(offcuts))


def _spare(y0: int, y1: int, length: int, least: tuple[int, int]) -> Strip:
    big = length >= least[0] and y1 - y0 >= least[1]
    return Strip(StripUse.OFFCUT if big else StripUse.WASTE, y0, y1)
