"""From the sections cut to the plan a maker reads: staves in panel order, cuts, offcuts, exact costs."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

from stockyard.geometry.area import clear_area
from stockyard.measures.colour import colour_difference
from stockyard.selection.instance import Demand, Instance, Timber
from stockyard.selection.joints import best_order, breaks_rings, joint_cost
from stockyard.selection.judging import judge
from stockyard.selection.sections import Docked
from stockyard.timber import (
    BoardCut,
    CostParts,
    DefectKind,
    Face,
    Offcut,
    Section,
    Stave,
    Strip,
    StripUse,
    Treatment,
    Window,
)

METHODS = dict.fromkeys(DefectKind, "epoxy") | dict.fromkeys(
    (DefectKind.CRACK, DefectKind.CHECK, DefectKind.SPLIT, DefectKind.SHAKE), "thin cyanoacrylate"
)
"""What stabilises each kind: thin glue wicks into what is split, a filler closes what is missing."""

MILLIONTH = Decimal("0.000001")


@dataclass(frozen=True, slots=True)
class Cutting:
    """A selection put together: panels by demand, cuts in stock order, and what it all costs."""

    panels: dict[int, tuple[Stave, ...]]
    boards: tuple[BoardCut, ...]
    cost_parts: CostParts


@dataclass(frozen=True, slots=True)
class _Piece:
    demand: Demand
    timber: Timber
    show: Face
    low_outer: bool
    outer_edges: int
    finished: Window
    rough: Window
    section: tuple[int, int]


def put_together(instance: Instance, docked: Sequence[Docked]) -> Cutting:
    """The panels and cuts of docked sections, each panel's staves in their cheapest order."""
    pieces = [piece for section in docked for piece in _pieces(instance, section)]
    panels: dict[int, tuple[Stave, ...]] = {}
    places: dict[Window, dict[int, tuple[str, int]]] = defaultdict(dict)
    match = rings = Fraction(0)
    treatments = appearance = Fraction(0)
    for demand in instance.demands:
        theirs = [piece for piece in pieces if piece.demand.index == demand.index]
        if not theirs:
            continue
        row = _in_order(instance, theirs)
        staves = []
        for place, piece in enumerate(row):
            stave, treated, shown = _stave(instance, piece, first=place == 0, alone=len(row) == 1)
            treatments, appearance = treatments + treated, appearance + shown
            staves.append(stave)
            places[piece.rough][piece.timber.index] = (demand.panel.id, place)
        panels[demand.index] = tuple(staves)
        for one, other in pairwise(row):
            match += _match(instance, one, other)
            if breaks_rings(instance.job.rings, (one.timber, one.show), (other.timber, other.show)):
                rings += Fraction(instance.job.costs.ring_break)
    by_board: dict[int, list[_Piece]] = defaultdict(list)
    for piece in pieces:
        by_board[piece.timber.index].append(piece)
    boards, credits = [], Fraction(0)
    for index in sorted(by_board):
        cut, credit = _board_cut(instance, instance.timbers[index], by_board[index], places)
        boards.append(cut)
        credits += credit
    parts = CostParts(
        timber=sum((instance.timbers[index].board.value for index in by_board), Decimal(0)),
        handling=instance.job.costs.handling * len(by_board),
        offcuts=-as_money(credits),
        treatments=as_money(treatments),
        appearance=as_money(appearance),
        match=as_money(match),
        rings=as_money(rings),
    )
    return Cutting(panels, tuple(boards), parts)


def counted_cost(instance: Instance, docked: Sequence[Docked]) -> float:
    """What a selection costs, and what the wishes lay on its boards."""
    if not docked:
        return 0.0
    cutting = put_together(instance, docked)
    return float(cutting.cost_parts.total + instance.wishes.of_plan(cut.id for cut in cutting.boards))


def as_money(amount: Fraction) -> Decimal:
    """To the nearest millionth."""
    return Decimal(round(amount * 1_000_000)) * MILLIONTH


def _pieces(instance: Instance, section: Docked) -> list[_Piece]:
    trim, found = instance.cuts.end_trim, []
    for stave in section.staves:
        fit, x0 = stave.fit, stave.start
        finished = Window(x0 + trim, stave.low, x0 + trim + fit.demand.length, stave.high)
        rough = Window(
            x0, stave.low - fit.low_allowance, x0 + fit.rough_length, stave.high + fit.high_allowance
        )
        found.append(
            _Piece(
                fit.demand,
                fit.timber,
                fit.show,
                fit.role.low_outer,
                fit.role.outer_edges,
                finished,
                rough,
                (section.x0, section.x1),
            )
        )
    return found


def _in_order(instance: Instance, pieces: Sequence[_Piece]) -> list[_Piece]:
    kinds = [(piece.timber, piece.show) for piece in pieces]
    costs = [[joint_cost(instance, one, other) for other in kinds] for one in kinds]
    ends = [number for number, piece in enumerate(pieces) if piece.outer_edges == 1]
    _, row = best_order(costs, ends)
    return [pieces[number] for number in row]


def _match(instance: Instance, one: _Piece, other: _Piece) -> Fraction:
    ours, theirs = one.timber.board.colour(one.show), other.timber.board.colour(other.show)
    if ours is None or theirs is None:
        return Fraction(0)
    return Fraction(instance.job.costs.match) * Fraction(colour_difference(ours, theirs))


def _stave(
    instance: Instance, piece: _Piece, *, first: bool, alone: bool
) -> tuple[Stave, Fraction, Fraction]:
    """The stave as it lies, what its treatments cost, and what it shows costs."""
    # The outer edge of the first stave is on the panel's low side, that of the last on its high side;
    # a board's low edge comes to lie high when it is turned over or turned end for end, not both.
    low_edge_lies_high = piece.outer_edges == 1 and piece.low_outer != first
    turned = low_edge_lies_high != (piece.show is Face.B)
    if piece.outer_edges != 1 or alone:
        turned = False
    treat: list[Treatment] = []
    accept: list[str] = []
    treated = shown = Fraction(0)
    for flaw in piece.timber.flaws:
        if any(Window(*box).meets(piece.finished) for box in flaw.boxes):
            verdict = judge(instance, piece.demand, flaw, piece.show)
            shown += verdict.penalty
            if verdict.treated:
                treated += verdict.treatment
                method = METHODS[flaw.defect.kind]
                treat.append(Treatment(flaw.defect.id, method, as_money(verdict.treatment)))
            else:
                accept.append(flaw.defect.id)
    stave = Stave(
        piece.timber.board.id, piece.show, turned, piece.finished, piece.rough, tuple(treat), tuple(accept)
    )
    return stave, treated, shown


def _board_cut(
    instance: Instance,
    timber: Timber,
    pieces: Sequence[_Piece],
    places: dict[Window, dict[int, tuple[str, int]]],
) -> tuple[BoardCut, Fraction]:
    """How the board is cut, and the exact credit for its offcuts."""
    cuts = instance.cuts
    spans = sorted({piece.section for piece in pieces})
    windows = [
        Window(a, 0, b, timber.width)
        for a, b in _left(spans, timber.length, cuts.kerf)
        if b - a >= cuts.offcut_length and timber.width >= cuts.offcut_width
    ]
    sections = []
    for x0, x1 in spans:
        ours = sorted((p for p in pieces if p.section == (x0, x1)), key=lambda p: p.rough.y0)
        strips = [Strip(StripUse.STAVE, p.rough.y0, p.rough.y1, *places[p.rough][timber.index]) for p in ours]
        for low, high in _left([(p.rough.y0, p.rough.y1) for p in ours], timber.width, cuts.kerf):
            kept = x1 - x0 >= cuts.offcut_length and high - low >= cuts.offcut_width
            strips.append(Strip(StripUse.OFFCUT if kept else StripUse.WASTE, low, high))
            if kept:
                windows.append(Window(x0, low, x1, high))
        sections.append(Section(x0, x1, tuple(sorted(strips, key=lambda s: (s.y0, s.y1)))))
    blots = [Window(*box) for box in timber.blots]
    share = Fraction(instance.job.costs.recovery) * Fraction(timber.board.value)
    credits = [
        share * Fraction(clear_area(blots, window), timber.length * timber.width) for window in windows
    ]
    offcuts = tuple(Offcut(window, as_money(credit)) for window, credit in zip(windows, credits, strict=True))
    return BoardCut(timber.board.id, tuple(sections), offcuts), sum(credits, Fraction(0))


def _left(pieces: Sequence[tuple[int, int]], end: int, kerf: int) -> list[tuple[int, int]]:
    """What is left of [0, end] beside pieces in order, a kerf lost beside each."""
    found, start = [], 0
    for low, high in pieces:
        if low - kerf > start:
            found.append((start, low - kerf))
        start = high + kerf
    if start < end:
        found.append((start, end))
    return found
