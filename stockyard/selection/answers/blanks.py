"""What stands of a plan that is under way, as boards that a selection can use again.

A sound stave is a small board just as large as it was sawn, already paid for; an offcut is one worth what the
plan credits it with. Each lies between ends as long as what the job docks from a board, since nothing more is
docked from a stave.
"""

from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from stockyard.geometry.piece import clipped_defect, distortion_of_piece
from stockyard.selection.answers.cases import Case
from stockyard.selection.instance import exactly, need
from stockyard.timber import Board, Defect, Distortion, Job, Panel, Plan, Stave, Window


@dataclass(frozen=True, slots=True)
class Blank:
    """A sound stave as a board under a name of its own. panel, place: what it was cut for (0 first)."""

    board: Board
    panel: str
    place: int
    parent: str


def blank_of(stave: Stave, place: int, parent: Board, job: Job, panel: Panel) -> Blank:
    """A sawn stave as a board that can be laid in its panel again, in any place that it is wide enough for.

    Straightened and flattened as the plan reckoned, so that nothing is taken twice. Where its flaws,
    described from its own corner, would no longer pass the job's rules though they did on the board, it
    counts as clear.
    """
    rough, loss = stave.rough, need(job.allowances.board_end_loss_mm)
    straight = _straightening(stave, parent)
    along = Fraction(rough.length_mm) / exactly(parent.length_mm)
    across = Fraction(rough.width_mm) / exactly(parent.width_mm)
    bend = parent.distortion
    flat = exactly(bend.bow_mm) * along**2 + exactly(bend.cup_mm) * across**2
    flat += exactly(bend.twist_mm) * along * across
    board = replace(
        parent,
        id=f"{parent.id}, {panel.id} {place + 1}",
        length_mm=float(rough.length_mm + 2 * loss),
        width_mm=float(rough.width_mm - straight),
        # To the micrometre, upward: it was thick enough before it was rounded.
        thickness_mm=float(-((-(exactly(parent.thickness_mm) - flat) * 1_000_000) // 1)) / 1_000_000,
        value=Decimal(0),
        distortion=Distortion(),
        defects=_moved(parent, rough, loss),
    )
    if not Case(board, job, panel).suits():
        board = replace(board, defects=())
    return Blank(board, panel.id, place, parent.id)


def remnants_of(plan: Plan, boards: dict[str, Board], cut: frozenset[str]) -> list[Board]:
    """The offcuts that these boards of the plan leave, worth what the plan credits them with."""
    found = []
    for each in plan.boards:
        if each.id not in cut:
            continue
        parent = boards[each.id]
        for number, offcut in enumerate(each.offcuts, start=1):
            window = offcut.window
            found.append(
                replace(
                    parent,
                    id=f"{each.id}, offcut {number}",
                    length_mm=float(window.length_mm),
                    width_mm=float(window.width_mm),
                    value=offcut.value,
                    distortion=distortion_of_piece(
                        parent.distortion,
                        parent.length_mm,
                        parent.width_mm,
                        window.length_mm,
                        window.width_mm,
                    ),
                    defects=_moved(parent, window, 0),
                )
            )
    return found


def _straightening(stave: Stave, parent: Board) -> int:
    share = Fraction(stave.rough.length_mm) / exactly(parent.length_mm)
    sagitta = exactly(parent.distortion.spring_mm) * share**2
    return -(-sagitta.numerator // sagitta.denominator)


def _moved(parent: Board, window: Window, along: int) -> tuple[Defect, ...]:
    return tuple(
        replace(part, outline=tuple((x + along, y) for x, y in part.outline))
        for defect in parent.defects
        for part in clipped_defect(defect, window)
    )
