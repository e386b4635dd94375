"""photo add, add-named, take-back, check, show, detect, cards: pictures of board faces."""

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.read import because_option, face_of, number_of, points_of
from stockyard.cli.session import bytes_of, session_of, write_file
from stockyard.cli.show import say, say_json, table
from stockyard.errors import BadInput
from stockyard.measures.plain import plain

if TYPE_CHECKING:
    from stockyard.services.read_pictures import Detection
    from stockyard.timber.photo import Photo, PhotoScale

photos = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Photograph board faces, and decide on the flaws suggested on them.",
    epilog="Example: stockyard photo add SG-0003 --face A IMG_0412.jpg",
)
app.add_typer(photos, name="photo")

BoardsArgument = Annotated[list[str] | None, typer.Argument(metavar="[BOARD]...", help="Their numbers.")]
DocketOption = Annotated[str | None, typer.Option("--docket", help="Every board of a delivery on hand.")]
OneFaceOption = Annotated[str | None, typer.Option("--face", help="Only face A or B.")]


class Runs(StrEnum):
    """Which way the grain runs in a picture."""

    VERTICAL = "vertical"
    HORIZONTAL = "horizontal"


@photos.command(
    "add",
    short_help="Put pictures of a face to scale and keep them.",
    epilog="Example: stockyard photo add SG-0003 --face A IMG_0412.jpg",
)
def add(
    context: typer.Context,
    board: Annotated[str, typer.Argument(help="The board's number.")],
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE...", help="Pictures; of a long board several, overlapping.")
    ],
    face: Annotated[str, typer.Option("--face", help="A or B.")],
    corners: Annotated[
        str | None,
        typer.Option(metavar='"X,Y X,Y X,Y X,Y"', help="The face's corners in the picture, by hand, in px."),
    ] = None,
    end1: Annotated[
        str, typer.Option("--end1", help="Where end 1 lies in it: left, right, top or bottom.")
    ] = "left",
    order: Annotated[
        str, typer.Option(help="Which of several is nearest end 1: as given, by name or by time taken.")
    ] = "given",
    marker: Annotated[
        float, typer.Option("--marker", help="The printed markers' side, measured, in mm.")
    ] = 40.0,
    keep_location: Annotated[
        bool, typer.Option("--keep-location", help="Let the kept file say where it was taken.")
    ] = False,
    check: Annotated[bool, typer.Option("--check", help="Say what would be found; store nothing.")] = False,
) -> None:
    """Put pictures of one face to true scale and keep them, or say why not and store nothing.

    The scale comes from marker cards where they lie on the face, from corners given by hand, else from the
    board's outline and its logged size.
    """
    from stockyard.services.add_photo import HowTaken, add_photo
    from stockyard.services.preview_photo import preview_photo
    from stockyard.services.read_pictures import given_pictures

    session = session_of(context)
    how = HowTaken(
        end1=end1,
        corners_px=None if corners is None else points_of(corners, "--corners"),
        order=order,
        marker_mm=marker,
        keep_location=keep_location,
    )
    side, given = face_of(face, through=False), given_pictures(files)
    if check:
        seen = preview_photo(session.open_work(), board, side, given, how)
        if seen.scale is None:
            raise BadInput(seen.refused or "", seen.faults)
        if session.as_json:
            say_json({"scale": seen.scale, "corners_px": seen.corners_px})
            return
        say(f"{board}, face {side.value}: {_way(seen.scale)}. Nothing was stored.")
        _say_scale(seen.scale)
        return
    added = add_photo(session.open_work(), board, side, given, how)
    if session.as_json:
        say_json({**plain(added.photo), "known": added.known, "colour_used": added.colour_used})
        return
    if added.known:
        say(f"Photo {added.photo.number} is made of these pictures already; nothing new was stored.")
    else:
        say(f"{board}, face {side.value}: photo {added.photo.number}, {_way(added.photo.scale)}.")
    _say_scale(added.photo.scale)
    _say_colour(added.photo, added.colour_used)
    say(f"Next: stockyard photo suggest {board}")


@photos.command(
    "add-named",
    short_help="Add many faces, named for their boards.",
    epilog="Example: stockyard photo add-named SG-0003-A.jpg SG-0003-B.jpg JA-0008-A1.jpg JA-0008-A2.jpg",
)
def add_named(
    context: typer.Context,
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE...", help="Pictures named for their board and face.")
    ],
    keep_location: Annotated[
        bool, typer.Option("--keep-location", help="Let the kept files say where they were taken.")
    ] = False,
) -> None:
    """Add the pictures of a whole delivery, each face by itself; ends with 2 when one was refused."""
    from stockyard.services.add_named_photos import add_named_photos
    from stockyard.services.read_pictures import given_pictures

    session = session_of(context)
    done = add_named_photos(session.open_work(), given_pictures(files), keep_location=keep_location)
    refused = [each for each in done if each.added is None]
    if session.as_json:
        say_json(done)
    else:
        for each in done:
            said = each.refused or ""
            if each.added is not None:
                photo = each.added.photo
                known = ", known already" if each.added.known else ""
                said = (
                    f"{each.board}, face {each.face.value}: photo {photo.number}, {_way(photo.scale)}{known}."
                )
            say(said)
        say(f"{len(done) - len(refused)} faces added, {len(refused)} refused.")
    if refused:
        raise typer.Exit(2)


@photos.command("take-back", epilog='Example: stockyard photo take-back 3 --because "another board"')
def take_back(
    context: typer.Context,
    photo: Annotated[int, typer.Argument(metavar="PHOTO", help="The photo's number.")],
    because: because_option = "",
) -> None:
    """Have a photo that was a mistake stand no more; defects accepted from it stay on the map."""
    from stockyard.services.add_photo import take_back_photo

    session = session_of(context)
    gone = take_back_photo(session.open_work(), photo, because)
    if session.as_json:
        say_json(gone)
    else:
        say(f"Photo {photo} no longer stands for {gone.piece}, face {gone.face.value}; it stays on record.")


@photos.command("check", epilog="Example: stockyard photo check")
def check_(
    context: typer.Context,
    sweep: Annotated[bool, typer.Option("--sweep", help="Delete files that no record names.")] = False,
) -> None:
    """Prove that pictures and records agree; ends with 3 and every disagreement when they do not."""
    from stockyard.services.check_photos import check_photos

    session = session_of(context)
    found = check_photos(session.open_work(), sweep=sweep)
    if session.as_json:
        say_json({**plain(found), "sound": found.sound})
    else:
        wrong = [
            *((what, name, "missing") for name, what in found.missing),
            *((what, name, "altered") for name, what in found.altered),
            *(("file", name, "in no record") for name in found.unrecorded),
        ]
        if wrong:
            table(("what", "file", "is"), wrong)
        if found.swept:
            say(f"{len(found.swept)} files that no record names were swept away.")
        if found.missing or found.altered:
            say("Put those files back from your last copy of the yard.")
        if found.unrecorded:
            say("Files in no record can be deleted with --sweep.")
        say(f"{found.files:,} picture files on record, {len(wrong)} disagreements.")
    if not found.sound:
        raise typer.Exit(3)


@photos.command(
    "show",
    short_help="Draw faces with their flaws as a picture.",
    epilog="Example: stockyard photo show faces.jpg SG-0003",
)
def show(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Where the picture (JPEG) goes.")],
    boards: BoardsArgument = None,
    docket: DocketOption = None,
    face: OneFaceOption = None,
    only_open: Annotated[
        bool, typer.Option("--open", help="Only faces on which something waits to be decided.")
    ] = False,
    bare: Annotated[bool, typer.Option("--bare", help="One face alone, with nothing drawn on.")] = False,
) -> None:
    """Draw photographed faces at true scale, mapped flaws in blue, open suggestions in red.

    What was cut from a photographed board shows its part of that board's face.
    """
    from stockyard.services.show_face import show_face, show_faces
    from stockyard.services.suggest_defects import Boards

    session = session_of(context)
    side = None if face is None else face_of(face, through=False)
    if bare and (side is None or len(boards or ()) != 1):
        raise BadInput("One face alone is that of one board; give its number and --face.")
    if bare and side is not None and boards:
        found = show_face(session.open_work(), boards[0], side)
        write_file(file, found.content)
        told = {"file": str(file), "mm_per_px": found.mm_per_px, "photo": found.photo}
    else:
        which = Boards(tuple(boards or ()), docket)
        write_file(file, show_faces(session.open_work(), which, side, only_open=only_open))
        told = {"file": str(file)}
    if session.as_json:
        say_json(told)
    else:
        scale = f", {told['mm_per_px']:g} mm a pixel" if "mm_per_px" in told else ""
        say(f"Drawn in {file}{scale}.")


class ReadBy(StrEnum):
    """Which reader looks for flaws."""

    LEARNED = "learned"
    CLASSICAL = "classical"
    BOTH = "both"


ReaderOption = Annotated[
    ReadBy, typer.Option("--reader", help="Which reader looks: a learned one, measured contrasts, or both.")
]


@photos.command("detect", epilog="Example: stockyard photo detect face.jpg --mm-per-px 0.33")
def detect(
    context: typer.Context,
    image: Annotated[Path, typer.Argument(help="A picture that is at scale: JPEG, PNG, WebP or TIFF.")],
    mm_per_px: Annotated[
        str, typer.Option(metavar="ACROSS[,ALONG]", help="A pixel's size across and along the grain, in mm.")
    ],
    grain: Annotated[Runs, typer.Option(help="Which way the grain runs in it.")] = Runs.HORIZONTAL,
    reader: ReaderOption = ReadBy.LEARNED,
) -> None:
    """Suggest the defects on a picture of a face; suggestions, to be looked at and confirmed by a person."""
    from stockyard.services.read_pictures import detect_defects

    session = session_of(context)
    found = detect_defects(bytes_of(image), image.name, _scale(mm_per_px), grain.value, reader.value)
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
    for note in found.notes:
        say(note)
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


def _way(scale: "PhotoScale") -> str:
    """How it was put to scale, in words."""
    by = {
        "cards": f"by cards {', '.join(map(str, scale.cards))}" if scale.cards else "by cards",
        "outline": "by its outline and logged size",
        "corners": "by corners given by hand",
    }[scale.way]
    if not scale.seams:
        return f"put to scale {by}"
    return f"{len(scale.seams) + 1} pictures laid together, put to scale {by}"


def _say_scale(scale: "PhotoScale") -> None:
    along, across = scale.seen_mm_per_px
    say(f"  scale    {along:.3f} mm a pixel along, {across:.3f} across")
    longer, wider = scale.disagrees_pct
    if scale.seams:
        say(f"  size     shows {longer:+.1f} % against its logged length")
        by = "cards" if all(seam.by == "cards" for seam in scale.seams) else "the wood"
        say(f"  seams    {len(scale.seams)}, joined by {by}, worst {scale.seam_error_mm:.1f} mm off")
    elif scale.way == "cards":
        say(f"  size     shows {longer:+.1f} % long, {wider:+.1f} % wide against its logged size")
    else:
        say(f"  size     shows {longer:+.1f} % long for its width against its logged size")
    if scale.finest_mm is not None:
        say(f"  trust    a dark line of {scale.finest_mm:.1f} mm or wider can be seen on it")
    for remark in scale.remarks:
        say(f"  mind     {remark}")


def _say_colour(photo: "Photo", used: bool) -> None:
    colour = photo.colour
    if colour is None:
        return
    light, red, yellow = colour.lab
    how = "balanced by the cards' white" if colour.corrected else "as the camera saw it, uncorrected"
    say(f"  colour   L* {light:.0f}, a* {red:.0f}, b* {yellow:.0f}, {how}")
    if used:
        say("           now the board's own colour of that face, for matching")
    lean = f"{abs(colour.figure_deg):.0f} degrees off its length"
    strong = "plain" if colour.figure_strength < 0.3 else lean
    figured = ", figured across" if colour.across_share > 0.4 else ""
    say(f"  figure   {strong}{figured}")


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
        "reader": found.reader,
        "fitted": found.fitted,
        "notes": found.notes,
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
