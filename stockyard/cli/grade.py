"""grade: what a board's map makes of it by published rules, and why nothing higher."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.read import number_of
from stockyard.cli.session import bytes_of, session_of, write_file
from stockyard.cli.show import say, say_json, size, table
from stockyard.errors import BadInput
from stockyard.measures.plain import plain

if TYPE_CHECKING:
    from stockyard.services.grade_boards import GradedBoard, GradeSheet


@app.command(
    short_help="Grade boards by their maps.",
    epilog="Example: stockyard grade SG-0004",
)
def grade(
    context: typer.Context,
    boards: Annotated[
        list[str] | None, typer.Argument(metavar="[BOARD]...", help="These boards, in detail.")
    ] = None,
    docket: Annotated[
        str | None, typer.Option(help="What is on hand of this docket, a line for each board.")
    ] = None,
    by: Annotated[
        str,
        typer.Option(
            metavar="RULES",
            help="nhla; wa, the seasoned hardwood grades; en-oak or as2796, whose figures you fill in; or a"
            " CSV of your own.",
        ),
    ] = "nhla",
    piece: Annotated[
        str | None,
        typer.Option(metavar="LENGTHxWIDTH", help="Say what bend a piece of this size, in mm, would keep."),
    ] = None,
    copy_list: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Only write the list of --by there, to fill in.")
    ] = None,
) -> None:
    """Grade boards by their size and mapped flaws, both faces, and say what kept each from a higher grade.

    An aid worked from the map, as good as the map is; not a certified grade.
    """
    from stockyard.services.grade_boards import appearance_rules, grade_boards

    session = session_of(context)
    if copy_list is not None:
        from stockyard.services.grade_boards import list_to_fill

        write_file(copy_list, list_to_fill(by))
        say_json({"list": str(copy_list)}) if session.as_json else say(f"The list {by} is in {copy_list}.")
        return
    rules = None
    if by != "nhla":
        path = Path(by)
        own = path.suffix.casefold() == ".csv"
        rules = appearance_rules(path.stem if own else by, bytes_of(path) if own else None)
    sheet = grade_boards(
        session.open_work(), tuple(boards or ()), docket=docket, rules=rules, piece_mm=_size(piece)
    )
    if session.as_json:
        say_json(
            {
                "rules": sheet.rules,
                "boards": [_json(graded) for graded in sheet.boards],
                "notes": list(sheet.notes),
            }
        )
        return
    if boards and len(sheet.boards) <= len(boards):
        for graded in sheet.boards:
            _print_board(graded)
    else:
        _print_list(sheet)
    from stockyard.grading import AID

    if any(graded.appearance and graded.appearance.not_judged for graded in sheet.boards):
        say("What is not judged is what the list has no figure for: look at it yourself.")
    for note in (*sheet.notes, AID):
        say(note)


def _json(graded: "GradedBoard") -> dict[str, object]:
    board = graded.board
    return {
        "id": board.id,
        "species": board.species,
        "grade": graded.grade,
        "flaws": graded.flaws,
        "piece": plain(graded.piece),
        "thickness_left": graded.thickness_left_mm,
        "width_left": graded.width_left_mm,
        "why_no_higher": list(_why(graded)),
        "nhla": plain(graded.nhla),
        "appearance": plain(graded.appearance),
    }


def _why(graded: "GradedBoard") -> tuple[str, ...]:
    found = graded.nhla or graded.appearance
    return found.why_no_higher if found is not None else ()


def _part(graded: "GradedBoard") -> str:
    piece, board = graded.piece, graded.board
    if (piece.length_mm, piece.width_mm) == (board.length_mm, board.width_mm):
        return "the whole board"
    return f"a piece of {piece.length_mm:g} x {piece.width_mm:g} mm"


def _size(text: str | None) -> tuple[float, float] | None:
    if text is None:
        return None
    parts = [number_of(part, "--piece") for part in text.casefold().split("x")]
    if len(parts) != 2:
        raise BadInput(f"--piece: expected a length and a width such as 900x120, found {text!r}.")
    return parts[0], parts[1]


def _shortly(graded: "GradedBoard") -> str:
    """What kept a board from the next grade up, and what its list does not judge."""
    told = list(_why(graded)[-1:])
    if graded.appearance is not None and graded.appearance.not_judged:
        told.append(f"not judged: {', '.join(graded.appearance.not_judged)}")
    return "; ".join(told)


def _print_list(sheet: "GradeSheet") -> None:
    table(
        ("board", ">size, mm", ">flaws", "grade", "why no higher"),
        (
            (
                graded.board.id,
                size(graded.board.length_mm, graded.board.width_mm, graded.board.thickness_mm),
                graded.flaws,
                graded.grade,
                _shortly(graded),
            )
            for graded in sheet.boards
        ),
    )
    counts: dict[str, int] = {}
    for graded in sheet.boards:
        counts[graded.grade] = counts.get(graded.grade, 0) + 1
    say(", ".join(f"{count} {name}" for name, count in counts.items()) + f" by {sheet.rules}")


def _print_board(graded: "GradedBoard") -> None:
    board = graded.board
    say(
        f"{board.id}, {board.species}, {size(board.length_mm, board.width_mm, board.thickness_mm)} mm:"
        f" {graded.grade}"
    )
    if graded.nhla is not None:
        made = graded.nhla.trials[-1].faces if graded.nhla.trials and graded.nhla.trials[-1].made else ()
        say(
            f"  surface measure {graded.nhla.surface_measure}; face {graded.nhla.poor_face.value} is the"
            " poorer"
        )
        for face in made:
            say(
                f"  face {face.face.value} as {face.grade}: {face.units:.1f} cutting units of"
                f" {face.needed:.1f} needed, in {_counted(len(face.cuttings))}"
            )
        for name in graded.nhla.undecided:
            say(f"  {name}: the search stopped before it knew")
    if graded.appearance is not None and graded.appearance.not_judged:
        say(f"  not judged, for the list has no figure: {', '.join(graded.appearance.not_judged)}")
    for why in _why(graded):
        say(f"  {why}")
    bend = graded.piece.distortion
    say(
        f"  {_part(graded)} keeps bow {bend.bow_mm:.1f}, spring {bend.spring_mm:.1f}, cup {bend.cup_mm:.1f},"
        f" twist {bend.twist_mm:.1f} mm; flat and straight it leaves {graded.thickness_left_mm:.1f} mm of"
        f" thickness and {graded.width_left_mm:.1f} mm of width"
    )
    say()


def _counted(cuttings: int) -> str:
    return "1 cutting" if cuttings == 1 else f"{cuttings} cuttings"
