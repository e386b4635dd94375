"""photo lessons score, export; photo reader: what the reader learnt from this yard, and which is in use."""

from pathlib import Path
from typing import Annotated

import typer

from stockyard.cli.photo import BoardsArgument, DocketOption, photos
from stockyard.cli.session import session_of
from stockyard.cli.show import say, say_json, table

lessons = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="What people said of suggestions, to measure and to train the reader by.",
    epilog="Example: stockyard photo lessons score",
)
photos.add_typer(lessons, name="lessons")


@lessons.command("score", epilog="Example: stockyard photo lessons score")
def score(context: typer.Context, boards: BoardsArgument = None, docket: DocketOption = None) -> None:
    """Say how often suggestions were right on the faces that someone has decided on."""
    from stockyard.services.photo_lessons import score_lessons
    from stockyard.services.suggest_defects import Boards

    session = session_of(context)
    found = score_lessons(session.open_work(), Boards(tuple(boards or ()), docket))
    if session.as_json:
        say_json(found)
        return
    if not found.faces:
        say("No face has all its suggestions decided on yet.")
        return
    table(
        ("kind", ">accepted", ">corrected", ">rejected", ">missed"),
        (
            (each.kind.value.replace("_", " "), each.accepted, each.corrected, each.rejected, each.missed)
            for each in found.kinds
        ),
    )
    parts = [f"{found.faces} face{'s' if found.faces != 1 else ''} decided on"]
    if found.precision is not None:
        parts.append(f"{found.precision:.0%} of suggestions right")
    if found.recall is not None:
        parts.append(f"{found.recall:.0%} of flaws suggested")
    if found.off_by is not None:
        parts.append(f"sureness {found.off_by:.0%} off")
    say("; ".join(parts) + ".")


@lessons.command("export", epilog="Example: stockyard photo lessons export lessons")
def export(
    context: typer.Context,
    folder: Annotated[Path, typer.Argument(help="A new folder for pictures and marks.")],
    boards: BoardsArgument = None,
    docket: DocketOption = None,
) -> None:
    """Write the faces that someone has decided on as a folder that the reader can be trained on."""
    from stockyard.services.photo_lessons import export_lessons
    from stockyard.services.suggest_defects import Boards

    session = session_of(context)
    made = export_lessons(session.open_work(), Boards(tuple(boards or ()), docket), folder)
    if session.as_json:
        say_json({"folder": str(made.folder), "faces": made.faces, "pieces": made.pieces})
    else:
        faces = "1 face" if made.faces == 1 else f"{made.faces} faces"
        say(f"{faces}, in {made.pieces} pieces, now in {made.folder}.")


@photos.command("reader", epilog="Example: stockyard photo reader retrained.onnx")
def reader(
    context: typer.Context,
    file: Annotated[
        Path | None, typer.Argument(help="A retrained model to check; the one in use when left out.")
    ] = None,
) -> None:
    """Check a model before it is used, or say which is in use."""
    from stockyard.services.read_pictures import check_reader

    session = session_of(context)
    name = check_reader(file)
    if session.as_json:
        say_json({"reader": name, "file": None if file is None else str(file)})
    elif file is None:
        say(f"In use: {name}.")
    else:
        say(f"{name} can be used: set STOCKYARD_READER to {file.name} with its folder; unset it to go back.")
