"""Grade boards by their maps: the NHLA grades, or an appearance list, and why none is higher."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from importlib.resources import files
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault, NotFound
from stockyard.geometry.footprint import footprint
from stockyard.geometry.piece import distortion_of_piece
from stockyard.grading.appearance import AppearanceGrade, appearance_grade
from stockyard.grading.appearance_rules import AppearanceRules, read_rules, shipped_rules
from stockyard.grading.marked import joined
from stockyard.grading.nhla import NhlaGrade, grade_board
from stockyard.grading.straightness import thickness_left, width_left
from stockyard.services.jobs import habits_of
from stockyard.services.show_board import boards_by_number
from stockyard.timber import Allowances, Board, Distortion, Outline
from stockyard.timber.rack_query import RackQuery

if TYPE_CHECKING:
    from stockyard.records import OpenWork

LISTS = {"wa": "appearance_wa", "en-oak": "appearance_en_oak", "as2796": "appearance_as2796"}
"""The appearance lists that come with Stockyard, by the word a person asks for them with."""


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a board, or all of it, and the bend that is left in it. [mm]"""

    length_mm: float
    width_mm: float
    distortion: Distortion


@dataclass(frozen=True, slots=True)
class GradedBoard:
    """One board's grade. nhla or appearance: whichever was asked for.

    flaws: how many are on its map. piece: the whole board, or the shorter or narrower part asked about.
    thickness_left_mm, width_left_mm: of that once it is flat and straight, by the workshop's allowances.
    """

    board: Board
    flaws: int
    nhla: NhlaGrade | None
    appearance: AppearanceGrade | None
    thickness_left_mm: float
    width_left_mm: float
    piece: Part

    @property
    def grade(self) -> str:
        """The grade given."""
        if self.nhla is not None:
            return self.nhla.grade
        assert self.appearance is not None
        return self.appearance.grade or "below grade"


@dataclass(frozen=True, slots=True)
class GradeSheet:
    """The boards graded, by which rules, and what a reader has to know."""

    rules: str
    boards: tuple[GradedBoard, ...]
    notes: tuple[str, ...]


def grade_boards(
    open_work: "OpenWork",
    numbers: Sequence[str] = (),
    *,
    docket: str | None = None,
    rules: AppearanceRules | None = None,
    piece_mm: tuple[float, float] | None = None,
) -> GradeSheet:
    """Grade these boards, or those on hand of a docket, both faces taken as mapped.

    rules: an appearance list; the NHLA grades when None. piece_mm: length and width of a piece to be cut from
    each, to say what bend it keeps; the whole board when None.
    Raises NotFound for a board or docket that is not there, BadInput when neither is named or the piece is
    larger than a board.
    """
    if not numbers and docket is None:
        raise BadInput("Nothing was named to grade.", [Fault("board", "a board's number, or a docket")])
    with open_work(reading=True) as work:
        wanted = tuple(numbers)
        if docket is not None:
            found = [piece.number for piece in work.pieces.find(RackQuery(delivery=docket))]
            if not found:
                raise NotFound("docket with boards on hand", docket)
            wanted += tuple(found)
        boards = boards_by_number(work, tuple(dict.fromkeys(wanted)))
        job = habits_of(work)
    if piece_mm is not None:
        _check_part(boards.values(), *piece_mm)
    allowances = job.allowances if job else Allowances()
    order = dict.fromkeys(wanted)
    graded = tuple(_graded(boards[number], rules, allowances, piece_mm) for number in order)
    notes = []
    bare = [each.board.id for each in graded if not each.flaws]
    if bare:
        notes.append(
            f"No flaw is on the map of {_some(bare)}: graded as clear, which is only as good as the map."
        )
    return GradeSheet(rules.name if rules else "NHLA", graded, tuple(notes))


def _check_part(boards: Iterable[Board], length_mm: float, width_mm: float) -> None:
    faults = [
        Fault(
            f"piece of {board.id}",
            f"within {board.length_mm:g} x {board.width_mm:g} mm",
            f"{length_mm:g} x {width_mm:g}",
        )
        for board in boards
        if not (0 < length_mm <= board.length_mm and 0 < width_mm <= board.width_mm)
    ]
    if faults:
        raise BadInput("No such piece can be cut.", faults)


def appearance_rules(name: str, content: bytes | None = None) -> AppearanceRules:
    """A list that comes with Stockyard, by its word, or one of the workshop's own from its CSV.

    Raises BadInput for an unknown word, or with every fault of the CSV.
    """
    if content is None:
        if name not in LISTS:
            raise BadInput(
                "There is no appearance list of that name.",
                [Fault("list", f"{', '.join(LISTS)}, or a CSV file", repr(name))],
            )
        return shipped_rules(LISTS[name])
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadInput(f"The list {name} is not text in UTF-8; save it as UTF-8.") from None
    return read_rules(text, name)


def list_to_fill(name: str) -> str:
    """The CSV of a list that comes with Stockyard, to be filled in from one's own copy of a standard.

    Raises BadInput for an unknown word.
    """
    rules_file = LISTS.get(name)
    if rules_file is None:
        raise BadInput(
            "There is no appearance list of that name.", [Fault("list", ", ".join(LISTS), repr(name))]
        )
    return files("stockyard.grading").joinpath("tables", f"{rules_file}.csv").read_text(encoding="utf-8")


def _graded(
    board: Board,
    rules: AppearanceRules | None,
    allowances: Allowances,
    piece_mm: tuple[float, float] | None,
) -> GradedBoard:
    length, width = piece_mm or (board.length_mm, board.width_mm)
    left = distortion_of_piece(board.distortion, board.length_mm, board.width_mm, length, width)
    return GradedBoard(
        board,
        len(board.defects),
        None if rules else grade_board(board, boxes_of=_boxes),
        appearance_grade(board, rules) if rules else None,
        thickness_left(board.thickness_mm, left, allowances.face_planing_mm),
        width_left(width, left, allowances.edge_joint_mm),
        Part(length, width, left),
    )


def _boxes(outline: Outline) -> list[tuple[float, float, float, float]]:
    """A slanting flaw in steps, so that it does not bar the whole rectangle it crosses."""
    return joined((box.x0, box.y0, box.x1, box.y1) for box in footprint(outline))


def _some(names: Sequence[str]) -> str:
    return ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")
