"""photo detect, cards: pictures of board faces."""

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.read import number_of
from stockyard.cli.session import bytes_of, session_of, write_file
from stockyard.cli.show import say, say_json, table
from stockyard.errors import BadInput

if TYPE_CHECKING:
    from stockyard.services.read_pictures import Detection

photos = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Read pictures of board faces.",
    epilog="Example: stockyard photo cards cards.pdf",
)
app.add_typer(photos, name="photo")


class Runs(StrEnum):
    """Which way the grain runs in a picture."""

    VERTICAL = "vertical"
    HORIZONTAL = "horizontal"


@photos.command("detect", epilog="Example: stockyard photo detect face.jpg --mm-per-px 0.33")
def detect(
    context: typer.Context,
    image: Annotated[Path, typer.Argument(help="A picture that is at scale: JPEG, PNG, WebP or TIFF.")],
    mm_per_px: Annotated[
        str, typer.Option(metavar="ACROSS[,ALONG]", help="A pixel's size across and along the grain, in mm.")
    ],
    grain: Annotated[Runs, typer.Option(help="Which way the grain runs in it.")] = Runs.HORIZONTAL,
) -> None:
    """Suggest the defects on a picture of a face; suggestions, to be looked at and confirmed by a person."""
    from stockyard.services.read_pictures import detect_defects

    session = session_of(context)
    found = detect_defects(bytes_of(image), image.name, _scale(mm_per_px), grain.value)
    if session.as_json:
        say_json(_document(found))
        return
    table(
        ("kind", ">sure", ">box, px", ">length, mm", ">opening", "or else"),
        (
            (
                each.kind.value.replace("_", " "),
                f"{each.confidence:.0%}",
                "{:.0f},{:.0f} to {:.0f},{:.0f}".format(*each.box_px),
                f"{each.length_mm:.0f}",
                None if each.opening_mm is None else f"{each.opening_mm:.1f}",
                ", ".join(kind.value.replace("_", " ") for kind in each.could_be),
            )
            for each in found.suggestions
        ),
    )
    say(f"{len(found.suggestions)} suggested; look at each before it goes on a map.")


@photos.command("cards", epilog="Example: stockyard photo cards cards.pdf")
def cards(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(help="Where the PDF goes.")],
) -> None:
    """Make the marker cards to lay on a board, as a PDF to print at 100 %."""
    from stockyard.services.read_pictures import marker_cards

    session = session_of(context)
    write_file(file, marker_cards())
    if session.as_json:
        say_json({"file": str(file)})
    else:
        say(f"The cards are in {file}; print at 100 % and check the ruler on the sheet with your own.")


def _scale(text: str) -> tuple[float, float]:
    parts = [number_of(part, "--mm-per-px") for part in text.split(",")]
    if len(parts) not in (1, 2):
        raise BadInput(f"--mm-per-px: expected one size or ACROSS,ALONG, found {text!r}.")
    return (parts[0], parts[-1])


def _document(found: "Detection") -> dict[str, object]:
    return {
        "mm_per_px": found.mm_per_px,
        "grain": found.grain,
        "settings": found.settings,
        "fitted": found.fitted,
        "defects": [
            {
                "kind": each.kind.value,
                "box_px": [float(value) for value in each.box_px],
                "outline_px": [[float(x), float(y)] for x, y in each.outline_px],
                "confidence": round(float(each.confidence), 4),
                "could_be": [kind.value for kind in each.could_be],
                "length_mm": round(float(each.length_mm), 1),
                "opening_mm": None if each.opening_mm is None else round(float(each.opening_mm), 2),
            }
            for each in found.suggestions
        ],
    }
