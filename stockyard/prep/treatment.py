"""What each treated flaw needs: method, how much, from which side, when, and how long before work goes on."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import isfinite, pi

from stockyard.errors import BadInput, Fault
from stockyard.geometry.footprint import footprint, length_along_x
from stockyard.prep.cautions import Hazard
from stockyard.timber import Board, Defect, DefectKind, Face, Plan, Stave
from stockyard.timber.step import StepKind

CRACKS = frozenset({DefectKind.CRACK, DefectKind.CHECK, DefectKind.SPLIT, DefectKind.SHAKE})


class CrackShape(StrEnum):
    """How a crack's gap runs from its face down."""

    STRAIGHT = "straight"
    V = "V"  # closes to nothing at its depth


@dataclass(frozen=True, slots=True)
class TreatmentHabits:
    """How the workshop stabilises and fills. Habits of the trade without a published source, except as said.

    overfill: share added to a void's volume. cup_loss_ml: left in the cup. mix: parts of resin to parts of
    hardener, by the maker's label. layer_mm: the thickest pour of ordinary resin (engineerfix.com: about
    3 mm); casting_mm: from this depth casting resin is needed because of heat (same: about 12 mm).
    fine_mm: a gap up to this takes thin cyanoacrylate, a wider one a thicker grade. hairline_mm,
    shallow_mm: taken for an opening or a depth that was not measured. *_hours: wait before work goes on.
    edge_mm: a void nearer than this to a glued edge is filled before jointing.
    """

    overfill: float = 0.15
    cup_loss_ml: float = 7.5
    mix: tuple[float, float] = (2.0, 1.0)
    layer_mm: float = 3.0
    casting_mm: float = 12.0
    fine_mm: float = 0.5
    hairline_mm: float = 0.1
    shallow_mm: float = 3.0
    crack_shape: CrackShape = CrackShape.V
    cyanoacrylate_hours: float = 1.0
    epoxy_hours: float = 24.0
    edge_mm: float = 15.0


@dataclass(frozen=True, slots=True)
class Mix:
    """Resin to mix for a void. [mL] total: with what the overfill and the cup take."""

    void_ml: float
    total_ml: float
    resin_ml: float
    hardener_ml: float


@dataclass(frozen=True, slots=True)
class TreatmentNeed:
    """What one flaw of one stave needs.

    product: a class of product, never a brand. volume_ml: of the gap or void. mix: for a fill. side: the face
    it is done from. before_jointing: else after glue-up. hours: to wait. notes: what was assumed.
    """

    panel: str
    stave: int
    board: str
    defect: str
    kind: StepKind
    product: str
    volume_ml: float
    mix: Mix | None
    side: Face
    before_jointing: bool
    hours: float
    instructions: str
    hazards: tuple[Hazard, ...]
    notes: tuple[str, ...] = ()


def crack_volume_ml(
    length_mm: float, opening_mm: float, depth_mm: float, shape: CrackShape = CrackShape.STRAIGHT
) -> float:
    """The volume of a crack from its length, opening at the face and depth; half of it when V-shaped. [mL]"""
    _check_sizes({"length": length_mm, "opening": opening_mm, "depth": depth_mm})
    whole = length_mm * opening_mm * depth_mm / 1000
    return whole / 2 if shape is CrackShape.V else whole


def hole_volume_ml(diameter_mm: float, depth_mm: float) -> float:
    """The volume of a round hole. [mL]"""
    _check_sizes({"diameter": diameter_mm, "depth": depth_mm})
    return pi * diameter_mm**2 / 4 * depth_mm / 1000


def resin_mix(
    void_ml: float, overfill: float = 0.15, mix: tuple[float, float] = (2.0, 1.0), cup_loss_ml: float = 0.0
) -> Mix:
    """How much to mix for a void, and its parts by volume. [mL]

    overfill: share added, 0 <= it < 1. mix: parts of resin and hardener by the maker's label, both > 0.
    """
    _check_sizes({"void": void_ml, "parts of resin": mix[0], "parts of hardener": mix[1]})
    if not (0 <= overfill < 1 and 0 <= cup_loss_ml < 1000):
        raise BadInput(
            "The overfill is out of order.",
            [Fault("overfill", "0 to 1, and a loss of 0 mL or more", f"{overfill:g}")],
        )
    total = void_ml * (1 + overfill) + cup_loss_ml
    parts = mix[0] + mix[1]
    return Mix(void_ml, total, total * mix[0] / parts, total * mix[1] / parts)


def treatment_needs(
    plan: Plan, boards: Mapping[str, Board], habits: TreatmentHabits | None = None
) -> tuple[TreatmentNeed, ...]:
    """What every treated flaw of a plan needs, panel by panel and stave by stave.

    boards: by id, every board that has a treated flaw. Raises BadInput naming those that are missing.
    """
    habits = habits or TreatmentHabits()
    faults: list[Fault] = []
    needs = []
    for panel in plan.panels:
        for place, stave in enumerate(panel.staves):
            board = boards.get(stave.board)
            flaws = {defect.id: defect for defect in board.defects} if board else {}
            for treatment in stave.treat:
                defect = flaws.get(treatment.defect)
                if board is None or defect is None:
                    faults.append(
                        Fault(
                            f"panel {panel.id}, stave {place + 1}", f"defect {treatment.defect} on its board"
                        )
                    )
                    continue
                inner = 0 < place < len(panel.staves) - 1
                glued = (place > 0, inner or (place == 0 and len(panel.staves) > 1))
                needs.append(_need(panel.id, place, stave, board, defect, glued, habits))
    if faults:
        raise BadInput("The plan's treatments cannot be told.", faults)
    return tuple(needs)


def _need(
    panel: str,
    place: int,
    stave: Stave,
    board: Board,
    defect: Defect,
    glued: tuple[bool, bool],
    habits: TreatmentHabits,
) -> TreatmentNeed:
    notes: list[str] = []
    depth = _depth(board, defect, habits, notes)
    boxes = footprint(defect.outline)
    side = stave.show if defect.through else defect.face
    if defect.kind in CRACKS:
        opening = defect.opening_mm
        if not opening:
            opening = habits.hairline_mm
            notes.append(f"Its opening was not measured; taken as {opening:g} mm.")
        thin = opening <= habits.fine_mm
        volume = crack_volume_ml(length_along_x(boxes), opening, depth, habits.crack_shape)
        return TreatmentNeed(
            panel, place, stave.board, defect.id, StepKind.STABILISE,
            "thin cyanoacrylate" if thin else "medium cyanoacrylate", volume, None, side, True,
            habits.cyanoacrylate_hours,
            f"From face {side}: blow it clean, wick it in until it takes no more, let it set, then sand."
            + (" Tape the back first, for it goes through." if defect.through else ""),
            (Hazard.CYANOACRYLATE, Hazard.DUST),
            tuple(notes),
        )  # fmt: skip
    area = _area_mm2(defect)
    void = area * depth / 1000
    mix = resin_mix(void, habits.overfill, habits.mix, habits.cup_loss_ml)
    near = (
        min((_to_edge(stave, box.y0, box.y1, glued) for box in boxes), default=float("inf")) < habits.edge_mm
    )
    resin = "casting epoxy" if depth > habits.casting_mm else "epoxy"
    layers = (
        ""
        if resin == "casting epoxy" or depth <= habits.layer_mm
        else f" In layers of {habits.layer_mm:g} mm."
    )
    return TreatmentNeed(
        panel, place, stave.board, defect.id, StepKind.FILL, resin, void, mix, side, near,
        habits.epoxy_hours,
        f"From face {side}: take out loose bark and decay,{' dam the back,' if defect.through else ''}"
        f" fill slightly proud, and sand flush after full cure.{layers}",
        (Hazard.EPOXY, Hazard.DUST),
        tuple(notes),
    )  # fmt: skip


def _depth(board: Board, defect: Defect, habits: TreatmentHabits, notes: list[str]) -> float:
    if defect.through:
        return board.thickness_mm
    if defect.depth_mm is None:
        notes.append(f"Its depth was not measured; taken as {habits.shallow_mm:g} mm. Probe it.")
        return min(habits.shallow_mm, board.thickness_mm)
    return min(defect.depth_mm, board.thickness_mm)


def _to_edge(stave: Stave, y0: int, y1: int, glued: tuple[bool, bool]) -> float:
    """How far a box is from the nearest glued edge of a stave, in the board frame. [mm]"""
    upside_down = (stave.show is Face.B) != stave.turned
    low, high = (glued[1], glued[0]) if upside_down else glued
    gaps = ([y0 - stave.finished.y0] if low else []) + ([stave.finished.y1 - y1] if high else [])
    return float(min(gaps, default=10**9))


def _area_mm2(defect: Defect) -> float:
    corners = defect.outline
    turned = zip(corners, corners[1:] + corners[:1], strict=True)
    return abs(sum(ax * by - bx * ay for (ax, ay), (bx, by) in turned)) / 2


def _check_sizes(sizes: Mapping[str, float]) -> None:
    faults = [
        Fault(name, "a number above 0", f"{value:g}")
        for name, value in sizes.items()
        if not (isfinite(value) and value > 0)
    ]
    if faults:
        raise BadInput("The sizes give no volume.", faults)
