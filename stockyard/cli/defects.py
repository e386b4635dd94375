"""defect add, edit, remove, list: a board's map by hand."""

from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.read import because_option, box_of, face_of, points_of
from stockyard.cli.session import session_of
from stockyard.cli.show import millimetres, say, say_json, table
from stockyard.measures.plain import plain

if TYPE_CHECKING:
    from stockyard.services.map_defects import Sketch
    from stockyard.timber import Outline
    from stockyard.timber.mapped_defect import MappedDefect

defects = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Map a board's flaws by hand.",
    epilog="Example: stockyard defect list SG-0003",
)
app.add_typer(defects, name="defect")

KindOption = Annotated[
    str | None, typer.Option("--kind", help='What it is, such as crack, "bark inclusion" or sound_knot.')
]
FaceOption = Annotated[str | None, typer.Option("--face", help="A, B, or both for one that goes through.")]
BoxOption = Annotated[
    str | None,
    typer.Option("--box", metavar="X0,Y0,X1,Y1", help="Two opposite corners, mm from end 1, edge 1."),
]
PolygonOption = Annotated[
    str | None, typer.Option("--polygon", metavar='"X,Y X,Y X,Y"', help="Its outline, three points or more.")
]
LineOption = Annotated[
    str | None, typer.Option("--line", metavar='"X,Y X,Y"', help="A crack's line; say how far it gapes.")
]
OpeningOption = Annotated[float | None, typer.Option("--opening", help="How far a crack gapes, in mm.")]
DepthOption = Annotated[
    float | None, typer.Option("--depth", help="How deep it reaches below its face, in mm.")
]
NoteOption = Annotated[str | None, typer.Option("--note", help="Anything worth remembering.")]


@defects.command(
    "add",
    epilog='Example: stockyard defect add SG-0003 --kind crack --face A --line "0,60 140,66" --opening 0.4',
)
def add(
    context: typer.Context,
    board: Annotated[str, typer.Argument(help="The board's number.")],
    kind: KindOption = None,
    face: FaceOption = None,
    box: BoxOption = None,
    polygon: PolygonOption = None,
    line: LineOption = None,
    opening: OpeningOption = None,
    depth: DepthOption = None,
    note: NoteOption = None,
) -> None:
    """Put a defect on a board's map."""
    from stockyard.services.map_defects import add_defect

    session = session_of(context)
    sketch = sketch_of(kind, face, box, polygon, line, opening, depth, note)
    mapped = add_defect(session.open_work(), board, sketch)
    if session.as_json:
        say_json(mapped)
    else:
        say(f"Mapped {_told(mapped)}.")


@defects.command("edit", epilog="Example: stockyard defect edit SG-0003/1 --depth 6 --because probed")
def edit(
    context: typer.Context,
    defect: Annotated[str, typer.Argument(help="The defect's number, such as SG-0003/1.")],
    kind: KindOption = None,
    face: FaceOption = None,
    box: BoxOption = None,
    polygon: PolygonOption = None,
    line: LineOption = None,
    opening: OpeningOption = None,
    depth: DepthOption = None,
    note: NoteOption = None,
    because: because_option = "",
) -> None:
    """Change what is drawn or said of a defect; what stood before stays on record."""
    from stockyard.services.map_defects import edit_defect

    session = session_of(context)
    sketch = sketch_of(kind, face, box, polygon, line, opening, depth, note)
    mapped = edit_defect(session.open_work(), defect, sketch, because)
    if session.as_json:
        say_json(mapped)
    else:
        say(f"Now {_told(mapped)}.")


@defects.command("remove", epilog='Example: stockyard defect remove SG-0003/1 --because "a pencil mark"')
def remove(
    context: typer.Context,
    defect: Annotated[str, typer.Argument(help="The defect's number, such as SG-0003/1.")],
    because: because_option = "",
) -> None:
    """Take a defect off its board's map; what it was stays on record."""
    from stockyard.services.map_defects import remove_defect

    session = session_of(context)
    remove_defect(session.open_work(), defect, because)
    if session.as_json:
        say_json({"removed": defect})
    else:
        say(f"{defect} is off the map.")


@defects.command("list", epilog="Example: stockyard defect list SG-0003 --history")
def list_(
    context: typer.Context,
    board: Annotated[str, typer.Argument(help="The board's number.")],
    history: Annotated[bool, typer.Option("--history", help="Every version there ever was.")] = False,
) -> None:
    """List the defects on a board's map."""
    from stockyard.cli.boards import extent
    from stockyard.services.map_defects import list_defects

    session = session_of(context)
    found = list_defects(session.open_work(), board, history=history)
    if session.as_json:
        say_json([plain(mapped) for mapped in found])
        return
    table(
        ("defect", "kind", "face", ">at x, y", ">size, mm", ">depth", "state", "note"),
        (
            (
                mapped.defect.id + (f" v{mapped.version}" if history else ""),
                mapped.defect.kind.value.replace("_", " "),
                mapped.defect.face.value,
                _corner(mapped.defect.outline),
                extent(mapped.defect.outline),
                mapped.defect.depth_mm,
                "removed" if mapped.removed else mapped.state.value,
                mapped.note,
            )
            for mapped in found
        ),
    )


def sketch_of(
    kind: str | None,
    face: str | None,
    box: str | None,
    polygon: str | None,
    line: str | None,
    opening: float | None,
    depth: float | None,
    note: str | None,
) -> "Sketch":
    """A defect as its options draw it. Raises BadInput for what cannot be read."""
    from stockyard.services.map_defects import Sketch, kind_named

    return Sketch(
        kind=None if kind is None else kind_named(kind),
        face=None if face is None else face_of(face),
        box=None if box is None else box_of(box, "--box"),
        polygon=None if polygon is None else points_of(polygon, "--polygon"),
        line=None if line is None else points_of(line, "--line"),
        opening_mm=opening,
        depth_mm=depth,
        note=note,
    )


def _corner(outline: "Outline") -> str:
    """The corner of its box nearest end 1 and edge 1, in mm."""
    return f"{millimetres(min(x for x, _ in outline))}, {millimetres(min(y for _, y in outline))}"


def _told(mapped: "MappedDefect") -> str:
    from stockyard.cli.boards import extent

    defect = mapped.defect
    faces = "through" if defect.through else f"face {defect.face.value}"
    return f"{defect.id}: {defect.kind.value.replace('_', ' ')}, {faces}, {extent(defect.outline)} mm"
