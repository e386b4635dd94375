"""sheet, label: what the yard knows, on paper."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.plans import PlanArgument
from stockyard.cli.read import day_of
from stockyard.cli.session import session_of, write_file
from stockyard.cli.show import say, say_json
from stockyard.errors import BadInput

if TYPE_CHECKING:
    from stockyard.drawings.drawing import Drawing

sheets = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Print boards, plans, bench sheets, deliveries and materials on A4, as PDF or SVG.",
    epilog="Example: stockyard sheet bench 1",
)
app.add_typer(sheets, name="sheet")

OutOption = Annotated[
    Path | None,
    typer.Option(
        "--out", metavar="FILE", help="A .pdf, or an .svg for each page; a PDF named after it if not said."
    ),
]


@sheets.command("board", epilog="Example: stockyard sheet board SG-0004 SG-0005")
def board(
    context: typer.Context,
    numbers: Annotated[list[str], typer.Argument(metavar="BOARD...", help="The boards' numbers.")],
    out: OutOption = None,
) -> None:
    """Print boards' face maps: both faces at scale, each flaw with hatching, letter, place and size."""
    from stockyard.services.draw_sheets import draw_boards

    _write(context, draw_boards(session_of(context).open_work(), numbers), out)


@sheets.command("plan", epilog="Example: stockyard sheet plan 1 --panel top")
def plan(
    context: typer.Context,
    number: PlanArgument,
    panel: Annotated[
        list[str] | None,
        typer.Option(metavar="PANEL", help="Only this panel, no cut maps; may be repeated."),
    ] = None,
    out: OutOption = None,
) -> None:
    """Print a plan: each panel's layout with its joints, and the cut map of each board."""
    from stockyard.services.draw_sheets import draw_plan

    drawn = draw_plan(session_of(context).open_work(), number, panels=panel or None, cuts=not panel)
    _write(context, drawn, out)


@sheets.command("bench", epilog="Example: stockyard sheet bench 1 --start 2026-12-01")
def bench(
    context: typer.Context,
    number: PlanArgument,
    start: Annotated[str | None, typer.Option(help="The day on which work begins; now if not said.")] = None,
    out: OutOption = None,
) -> None:
    """Print a plan's bench sheet, with boxes to tick, and the layouts of its panels behind it."""
    from stockyard.services.draw_bench import draw_bench

    drawn = draw_bench(session_of(context).open_work(), number, start=day_of(start, "--start"))
    _write(context, drawn, out)


@sheets.command("delivery", epilog="Example: stockyard sheet delivery 20418")
def delivery(
    context: typer.Context,
    docket: Annotated[str, typer.Argument(metavar="DOCKET", help="The docket's number.")],
    supplier: Annotated[
        str | None, typer.Option(help="Whose docket, where several have used the number.")
    ] = None,
    out: OutOption = None,
) -> None:
    """Print the record of a delivery: its boards, what they cost landed, where they are from."""
    from stockyard.services.draw_delivery import draw_delivery

    _write(context, draw_delivery(session_of(context).open_work(), docket, supplier), out)


@sheets.command("materials", epilog="Example: stockyard sheet materials hall-bench")
def materials(
    context: typer.Context,
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job's id.")],
    out: OutOption = None,
) -> None:
    """Print a job's materials statement for the client: each board, from whom, where it grew, its claim."""
    from stockyard.services.draw_materials import draw_materials

    _write(context, draw_materials(session_of(context).open_work(), job), out)


@app.command(
    short_help="Print labels for boards, with number and QR code.",
    epilog="Example: stockyard label SG-0004 SG-0005 --size 63.5x38.1",
)
def label(
    context: typer.Context,
    numbers: Annotated[list[str] | None, typer.Argument(metavar="BOARD...", help="The boards.")] = None,
    docket: Annotated[str | None, typer.Option(help="And all that is left of this docket.")] = None,
    place: Annotated[str | None, typer.Option(help="And all that stands in this place.")] = None,
    size: Annotated[
        str, typer.Option(metavar="WIDTHxHEIGHT", help="Of one label, in mm: 70x37, 63.5x38.1, 99.1x67.7 ...")
    ] = "70x37",
    single: Annotated[
        bool, typer.Option("--single", help="For a label printer: each on a page of its own, of any size.")
    ] = False,
    skip: Annotated[int, typer.Option(help="So many of the first sheet are used already.")] = 0,
    copies: Annotated[int, typer.Option(help="Of each.")] = 1,
    outline: Annotated[bool, typer.Option("--outline", help="Draw lines to cut by.")] = False,
    address: Annotated[
        str, typer.Option(metavar="URL", help="Put before the number in the code, for a phone to open.")
    ] = "",
    out: OutOption = None,
) -> None:
    """Print labels for boards: a number to read from the rack, and a QR code that a phone or scanner reads.

    Print at 100 %; try an A4 sheet on plain paper first and hold it against the labels.
    """
    from stockyard.drawings.label import stock_named
    from stockyard.services.draw_labels import draw_labels

    drawn = draw_labels(
        session_of(context).open_work(),
        numbers or (),
        docket=docket,
        place=place,
        stock=stock_named(size, single),
        skip=skip,
        copies=copies,
        outlined=outline,
        address=address,
    )
    _write(context, drawn, out)


def write_drawing(drawn: "Drawing", out: Path | None) -> list[Path]:
    """Write a drawing as the file's ending says; an SVG of several pages is numbered. Returns the files.

    Raises BadInput for another ending.
    """
    path = out or Path(f"{_file_name(drawn.name)}.pdf")
    ending = path.suffix.casefold()
    if ending == ".pdf":
        write_file(path, drawn.as_pdf())
        return [path]
    if ending != ".svg":
        raise BadInput(f"--out: expected a file that ends in .pdf or .svg, found {str(path)!r}.")
    pages = drawn.as_svg()
    files = [path] if len(pages) == 1 else [
        path.with_stem(f"{path.stem}-{number}") for number in range(1, len(pages) + 1)
    ]  # fmt: skip
    for file, page in zip(files, pages, strict=True):
        write_file(file, page)
    return files


def _write(context: typer.Context, drawn: "Drawing", out: Path | None) -> None:
    files = write_drawing(drawn, out)
    if session_of(context).as_json:
        say_json({"title": drawn.title, "pages": len(drawn.pages), "files": [str(file) for file in files]})
        return
    many = "1 page" if len(drawn.pages) == 1 else f"{len(drawn.pages)} pages"
    say(f"{drawn.title}: {many} in {', '.join(str(file) for file in files)}. Print at 100 %.")


def _file_name(text: str) -> str:
    return "".join(letter if letter.isalnum() or letter in "-_" else "_" for letter in text) or "_"
