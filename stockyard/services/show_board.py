"""Show one board: what it is, its flaws, its moisture over time, everything that happened to it."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockyard.timber.board import Board
from stockyard.timber.mapped_defect import MappedDefect
from stockyard.timber.moisture_reading import MoistureReading
from stockyard.timber.movement import Movement
from stockyard.timber.piece import Piece, PieceChange

if TYPE_CHECKING:
    from stockyard.records.connect import OpenWork
    from stockyard.records.unit_of_work import UnitOfWork


@dataclass(frozen=True, slots=True)
class BoardSheet:
    """One piece with everything known of it, each list the oldest first.

    board: as selection and the drawings see it. children: what was cut from it.
    """

    piece: Piece
    board: Board
    defects: tuple[MappedDefect, ...]
    readings: tuple[MoistureReading, ...]
    changes: tuple[PieceChange, ...]
    movements: tuple[Movement, ...]
    children: tuple[Piece, ...]
    currency: str


def show_board(open_work: "OpenWork", number: str) -> BoardSheet:
    """The sheet of one piece, gone ones too.

    Raises NotFound, with near numbers.
    """
    with open_work(reading=True) as work:
        piece = work.pieces.get(number)
        defects = work.defects.of_piece(number)
        return BoardSheet(
            piece=piece,
            board=piece.as_board(each.defect for each in defects),
            defects=defects,
            readings=work.readings.of_piece(number),
            changes=work.pieces.history(number),
            movements=tuple(work.movements.of_piece(number)),
            children=tuple(work.pieces.children(number)),
            currency=work.workshop.currency,
        )


def boards_by_number(work: "UnitOfWork", numbers: tuple[str, ...]) -> dict[str, Board]:
    """Boards as the drawings see them, gone ones too."""
    mapped = work.defects.of_pieces(numbers)
    return {
        number: piece.as_board(each.defect for each in mapped.get(number, ()))
        for number, piece in work.pieces.get_many(numbers).items()
    }
