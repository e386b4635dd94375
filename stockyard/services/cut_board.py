"""Cut one board by its plan: new pieces with their part of everything the board was."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from stockyard.geometry.piece import clipped_defect, distortion_of_piece
from stockyard.ledger import CutPiece, OffcutPolicy, share_value
from stockyard.measures.money import rounded
from stockyard.timber import BoardCut, Plan, Window
from stockyard.timber.mapped_defect import DefectOrigin, MappedDefect
from stockyard.timber.movement import Line
from stockyard.timber.piece import Piece, PieceKind, volume_mm3

if TYPE_CHECKING:
    from stockyard.records import UnitOfWork


@dataclass(frozen=True, slots=True)
class CutOutcome:
    """What became of one board.

    lines: the board's end and its pieces' beginnings; together with the spoiled shares they balance.
    spoiled: panel, place and share of value. heirs: for each defect of the board that a stave took along,
    the stave and the defect's id there.
    """

    board: str
    staves: tuple[Piece, ...]
    offcuts: tuple[Piece, ...]
    lines: tuple[Line, ...]
    spoiled: tuple[tuple[str, int, Decimal], ...]
    heirs: tuple[tuple[str, tuple[str, str]], ...]


@dataclass(frozen=True, slots=True)
class _Part:
    """A usable part of the board: a stave of a panel, or an offcut (no panel)."""

    window: Window
    panel: str | None = None
    stave: int | None = None
    worth: Decimal = Decimal(0)
    place: str | None = None


def cut_board(
    work: "UnitOfWork",
    plan: Plan,
    cut: BoardCut,
    board: Piece,
    number: int,
    policy: OffcutPolicy,
    spoiled: set[tuple[str, int]],
    not_kept: set[tuple[str, int]],
    widths_mm: Mapping[tuple[str, int], float] | None = None,
    racked: Mapping[tuple[str, int], str] | None = None,
) -> CutOutcome:
    """Add the staves and offcuts of one board, with its defects and readings; the movement is the caller's.

    widths_mm: of staves that came off the saw wider or narrower than planned, counted from their low edge.
    racked: where offcuts went, the board's own place where not said.

    Under the policies that need it, an offcut could be sold for what the plan credits it with, and a stave
    for the board's value by volume.
    """
    currency = plan.currency
    parts = [
        _Part(window, panel.id, place, _by_volume(board, window, currency))
        for panel in plan.panels
        for place, stave in enumerate(panel.staves)
        if stave.board == cut.id
        for window in [_as_cut(stave.rough, (widths_mm or {}).get((panel.id, place)))]
    ]
    parts += [
        _Part(
            offcut.window,
            worth=rounded(offcut.value, currency),
            place=(racked or {}).get((cut.id, place)),
        )
        for place, offcut in enumerate(cut.offcuts)
        if (cut.id, place) not in not_kept
    ]
    shares = share_value(
        board.value,
        [CutPiece(_volume(board, part.window), part.worth, by_product=part.panel is None) for part in parts],
        policy,
        currency,
    )
    lost = [(part.panel or "", part.stave or 0) in spoiled and part.panel is not None for part in parts]
    kept = [(part, share) for part, share, gone in zip(parts, shares, lost, strict=True) if not gone]
    numbers = iter(work.pieces.new_numbers(board.species, len(kept)) if kept else ())
    pieces = [_piece(board, part, next(numbers), number) for part, _ in kept]
    work.pieces.add(pieces)
    heirs = _inherit(work, board, pieces)
    lines = [Line(board.number, -1, -1, -board.value, -board.volume_mm3)]
    lines += [
        Line(piece.number, 1, 0, share, _volume(board, part.window))
        for piece, (part, share) in zip(pieces, kept, strict=True)
    ]
    return CutOutcome(
        board=board.number,
        staves=tuple(piece for piece in pieces if piece.kind is PieceKind.STAVE),
        offcuts=tuple(piece for piece in pieces if piece.kind is PieceKind.OFFCUT),
        lines=tuple(lines),
        spoiled=tuple(
            (part.panel or "", part.stave or 0, share)
            for part, share, gone in zip(parts, shares, lost, strict=True)
            if gone
        ),
        heirs=heirs,
    )


def _piece(board: Piece, part: _Part, number: str, plan: int) -> Piece:
    window = part.window
    return Piece(
        number=number,
        species=board.species,
        length_mm=window.length_mm,
        width_mm=window.width_mm,
        thickness_mm=board.thickness_mm,
        kind=PieceKind.OFFCUT if part.panel is None else PieceKind.STAVE,
        distortion=distortion_of_piece(
            board.distortion, board.length_mm, board.width_mm, window.length_mm, window.width_mm
        ),
        heart_face=board.heart_face,
        colour_a=board.colour_a,
        colour_b=board.colour_b,
        place=part.place or board.place,
        supplier=board.supplier,
        delivery=board.delivery,
        row=board.row,
        parent=board.number,
        window=window,
        cut_by=plan,
        panel=part.panel,
        stave=part.stave,
        ring_angle_deg=board.ring_angle_deg,
    )


def _inherit(
    work: "UnitOfWork", board: Piece, pieces: Iterable[Piece]
) -> tuple[tuple[str, tuple[str, str]], ...]:
    """Give new pieces the board's readings and their part of its defects; says where each defect went."""
    readings = [reading for reading in work.readings.of_piece(board.number) if reading.void is None]
    mapped = work.defects.of_piece(board.number)
    heirs: list[tuple[str, tuple[str, str]]] = []
    parts: list[MappedDefect] = []
    for piece in pieces:
        number = 0
        for parent in mapped:
            for part in clipped_defect(parent.defect, piece.window or Window(0, 0, 1, 1)):
                number += 1
                id_ = f"{piece.number}/{number}"
                parts.append(
                    replace(
                        parent,
                        piece=piece.number,
                        defect=replace(part, id=id_),
                        origin=DefectOrigin.INHERITED,
                        version=1,
                        cause=f"part of {parent.defect.id}",
                    )
                )
                if piece.kind is PieceKind.STAVE:
                    heirs.append((parent.defect.id, (piece.number, id_)))
    work.defects.add_many(parts)
    work.readings.add(
        (
            replace(reading, piece=piece.number, copied_from=board.number)
            for piece in pieces
            for reading in readings
        ),
        cause=f"taken along from {board.number}",
    )
    return tuple(heirs)


def _as_cut(rough: Window, width_mm: float | None) -> Window:
    return rough if width_mm is None else replace(rough, y1=rough.y0 + round(width_mm))


def _volume(board: Piece, window: Window) -> int:
    return volume_mm3(window.length_mm, window.width_mm, board.thickness_mm)


def _by_volume(board: Piece, window: Window, currency: str) -> Decimal:
    if not board.volume_mm3:
        return Decimal(0)
    return rounded(board.value * _volume(board, window) / board.volume_mm3, currency)
