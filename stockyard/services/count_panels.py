"""How many panels of one size the stock would still make: counted by selecting them, not by area."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from math import floor, log
from time import monotonic
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault
from stockyard.geometry.piece import defects_of_piece, distortion_of_piece
from stockyard.selection import select
from stockyard.services.jobs import habits_of
from stockyard.timber import Board, BoardCut, Job, Offcut, Panel, Plan, Status, Stock
from stockyard.timber.piece import PieceKind, PieceStatus
from stockyard.timber.rack_query import RackQuery

if TYPE_CHECKING:
    from stockyard.records import OpenWork

FREE = RackQuery(kinds=(PieceKind.BOARD, PieceKind.OFFCUT), status=(PieceStatus.FREE,))
AT_ONCE = 6
"""Most panels asked for in one selection; alike panels make it slower the more there are."""

QUICK_S = 1.0
"""A round that took less may be followed by one that asks for twice as many."""

WAYS = 20_000
"""Most combinations of stave widths of panels side by side in one selection, which its memory grows with."""


@dataclass(frozen=True, slots=True)
class PanelCount:
    """How many panels can be made: `made` were laid out, and no way of cutting makes more than `at_most`.

    by_species: panels of each. boards: how many would be cut. usable_mm3: volume of the panels, finished.
    seconds: spent.
    """

    panel: Panel
    made: int
    at_most: int
    by_species: tuple[tuple[str, int], ...]
    boards: int
    usable_mm3: int
    seconds: float

    @property
    def exact(self) -> bool:
        """Is it proved that no more can be made?"""
        return self.made == self.at_most


def count_panels(
    open_work: "OpenWork",
    panel: Panel,
    *,
    seconds: float = 60.0,
    on_progress: Callable[[int, int], object] | None = None,
) -> PanelCount:
    """Lay out as many panels as can be found from everything free, under the workshop's settings for jobs.

    panel: its size, species and staves; its id and priority do not matter. seconds: to search in all.
    on_progress: told how many are laid out and at most can be. Panels are selected a few at a time, as much
    offcut as each leaves being chosen from again, until none is left; that may miss a panel that choosing all
    at once would find, and `at_most` says how many.
    Raises BadInput with every fault of the panel.
    """
    with open_work(reading=True) as work:
        table = work.species.table()
        _refuse(panel, [name for name in panel.species if name not in table], seconds)
        panel = replace(panel, species=tuple(table.named(name).name for name in panel.species))
        settings = habits_of(work)
        stock = Stock(tuple(work.pieces.boards_for_selection(FREE)), work.workshop.currency)
    job = Job("how-many", (panel,)) if settings is None else replace(settings, id="how-many", panels=(panel,))
    return count_from(stock, job, seconds=seconds, on_progress=on_progress)


def count_from(
    stock: Stock,
    job: Job,
    *,
    seconds: float,
    on_progress: Callable[[int, int], object] | None = None,
) -> PanelCount:
    """The same from values: a stock, and a job of one panel with its settings."""
    began = monotonic()
    (panel,) = job.panels
    at_most = sum(_at_most(stock.boards, job, name) for name in panel.species)
    boards = {board.id: board for board in stock.boards}
    cut: set[str] = set()
    made: dict[str, int] = dict.fromkeys(panel.species, 0)
    staves_mm2 = 0.0
    proved = at_most == 0
    most, patience = _at_once(panel), seconds / 4
    # A stock that makes few is asked for all at once, to prove what it makes; a large one bit by bit.
    asked = at_most if at_most <= most else 1
    while sum(made.values()) < at_most and (left := seconds - (monotonic() - began)) > 0:
        asked = min(asked, at_most - sum(made.values()))
        copies = tuple(replace(panel, id=f"{n + 1}", priority=1) for n in range(asked))
        round_began = monotonic()
        plan = select(
            replace(stock, boards=tuple(boards.values())),
            replace(job, panels=copies),
            seconds=max(1.0, min(left, patience)),
        )
        laid = [each for each in plan.panels if each.made]
        # A proof that fewer can be made holds for the whole stock alone, not for what rounds have left of it.
        proved = not cut and len(laid) < asked and plan.status is not Status.FEASIBLE
        if not laid and asked == 1:
            if plan.status is not Status.FEASIBLE:
                break
            patience *= 2
        quick = plan.status is not Status.FEASIBLE and monotonic() - round_began < QUICK_S
        asked = min(most, 2 * asked) if quick and laid else 1
        for each in laid:
            made[boards[each.staves[0].board].species] += 1
            staves_mm2 += sum(stave.finished.area_mm2 for stave in each.staves)
        cut |= {each.id for each in plan.boards if "'" not in each.id}
        boards = _left_over(boards, plan)
        if on_progress is not None:
            on_progress(sum(made.values()), at_most)
        if proved:
            break
    found = sum(made.values())
    return PanelCount(
        panel=panel,
        made=found,
        at_most=found if proved else at_most,
        by_species=tuple((name, count) for name, count in made.items() if count),
        boards=len(cut),
        usable_mm3=round(staves_mm2 * panel.thickness_mm),
        seconds=monotonic() - began,
    )


def _at_once(panel: Panel) -> int:
    widths = max(2, floor(panel.stave_width_max_mm) - floor(panel.stave_width_min_mm) + 1)
    return max(1, min(AT_ONCE, floor(log(WAYS) / log(widths))))


def _at_most(boards: Iterable[Board], job: Job, species: str) -> int:
    """No more panels of a species than this, however its boards are cut.

    On each board at most as many staves as fit end to end lie at one place across, and together they are no
    wider than the board; a panel takes its whole width in staves. Flaws, bend and moisture only take away.
    """
    (panel,), allow = job.panels, job.allowances
    rough = panel.length_mm + 2 * allow.end_trim_mm
    width = 0.0
    for board in boards:
        thick = board.thickness_mm - 2 * allow.face_planing_mm >= panel.thickness_mm
        if board.species != species or not thick:
            continue
        room = board.length_mm - 2 * allow.board_end_loss_mm
        across = board.width_mm if board.width_mm >= panel.stave_width_min_mm else 0.0
        width += max(0, floor((room + allow.kerf_mm) / (rough + allow.kerf_mm))) * across
    return floor(width / panel.width_mm)


def _left_over(boards: dict[str, Board], plan: Plan) -> dict[str, Board]:
    """The boards without those that were cut, and with the offcuts that those left."""
    left = dict(boards)
    for cut in plan.boards:
        board = left.pop(cut.id)
        for place, offcut in enumerate(cut.offcuts):
            piece = _piece(board, cut, offcut, place)
            left[piece.id] = piece
    return left


def _piece(board: Board, cut: BoardCut, offcut: Offcut, place: int) -> Board:
    window = offcut.window
    id_ = f"{cut.id}'{place + 1}"
    bent = distortion_of_piece(
        board.distortion, board.length_mm, board.width_mm, window.length_mm, window.width_mm
    )
    defects = tuple(
        replace(defect, id=f"{id_}/{number + 1}")
        for number, defect in enumerate(defects_of_piece(board.defects, window))
    )
    return replace(
        board,
        id=id_,
        length_mm=float(window.length_mm),
        width_mm=float(window.width_mm),
        value=offcut.value,
        distortion=bent,
        defects=defects,
    )


def _refuse(panel: Panel, unknown: list[str], seconds: float) -> None:
    faults = [Fault("species", "a species the yard knows", repr(name)) for name in unknown]
    if not panel.species:
        faults.append(Fault("species", "one at least"))
    sizes = (
        ("length", panel.length_mm, 20_000),
        ("width", panel.width_mm, 5_000),
        ("thickness", panel.thickness_mm, 600),
    )
    faults += [
        Fault(name, f"above 0, up to {most:,} mm", f"{value:g}")
        for name, value, most in sizes
        if not 0 < value <= most
    ]
    if not 1 <= panel.staves_min <= panel.staves_max <= 60:
        faults.append(Fault("staves", "1 to 60, least first", f"{panel.staves_min} to {panel.staves_max}"))
    if not 0 < panel.stave_width_min_mm <= panel.stave_width_max_mm:
        faults.append(
            Fault(
                "stave width",
                "above 0, least first",
                f"{panel.stave_width_min_mm:g} to {panel.stave_width_max_mm:g}",
            )
        )
    if not 1 <= seconds <= 3600:
        faults.append(Fault("seconds", "1 to 3600", f"{seconds:g}"))
    if faults:
        raise BadInput("The panels cannot be counted so.", faults)
