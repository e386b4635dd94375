"""boards, board: the rack listed, and one board looked at, corrected, moved, written down or disposed of."""

from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from stockyard.cli.app import app
from stockyard.cli.read import amount_of, because_option, colour_of, face_of
from stockyard.cli.session import session_of, write_file
from stockyard.cli.show import millimetres, say, say_json, size, table
from stockyard.measures.plain import plain

if TYPE_CHECKING:
    from stockyard.services.correct_board import Correction
    from stockyard.services.show_board import BoardSheet
    from stockyard.timber.piece import Piece

_STATUSES = ("free", "promised", "in work", "gone")


@app.command(epilog='Example: stockyard boards --species "spotted gum" --min-width 150')
def boards(
    context: typer.Context,
    species: Annotated[list[str] | None, typer.Option(help="Only this species; may be repeated.")] = None,
    min_length: Annotated[float | None, typer.Option(help="At least this long, in mm.")] = None,
    min_width: Annotated[float | None, typer.Option(help="At least this wide, in mm.")] = None,
    min_thickness: Annotated[float | None, typer.Option(help="At least this thick, in mm.")] = None,
    min_moisture: Annotated[float | None, typer.Option(help="At least this moist, in percent.")] = None,
    max_moisture: Annotated[float | None, typer.Option(help="At most this moist, in percent.")] = None,
    place: Annotated[str | None, typer.Option(help="Only what stands there.")] = None,
    status: Annotated[
        list[str] | None, typer.Option(help=f"Only these: {', '.join(_STATUSES)}; may be repeated.")
    ] = None,
    docket: Annotated[str | None, typer.Option(help="Only what came on this docket.")] = None,
) -> None:
    """List the boards on the rack, offcuts included."""
    from stockyard.services.list_boards import list_boards
    from stockyard.timber.piece import PieceStatus
    from stockyard.timber.rack_query import STANDING, RackQuery

    for word in status or ():
        if word not in _STATUSES:
            raise typer.BadParameter(f"{word!r} is none of {', '.join(_STATUSES)}", param_hint="--status")
    session = session_of(context)
    found = list_boards(
        session.open_work(),
        RackQuery(
            species=tuple(species or ()),
            length_at_least_mm=min_length,
            width_at_least_mm=min_width,
            thickness_at_least_mm=min_thickness,
            moisture_at_least_pct=min_moisture,
            moisture_at_most_pct=max_moisture,
            place=place,
            status=tuple(PieceStatus(word) for word in status) if status else STANDING,
            delivery=docket,
        ),
    )
    if session.as_json:
        say_json([piece_json(piece) for piece in found])
        return
    table(
        ("board", "species", ">size, mm", ">MC, %", "place", "status", ">worth"),
        (
            (
                piece.number,
                piece.species,
                size(piece.length_mm, piece.width_mm, piece.thickness_mm),
                piece.moisture_pct,
                piece.place,
                piece.status.value,
                piece.value,
            )
            for piece in found
        ),
    )
    say(f"{len(found)} piece{'' if len(found) == 1 else 's'}")


@app.command(
    short_help="Show or change one board.", epilog="Example: stockyard board SG-0003 --svg SG-0003.svg"
)
def board(
    context: typer.Context,
    number: Annotated[str, typer.Argument(metavar="ID", help="The board's number.")],
    svg: Annotated[Path | None, typer.Option(help="Draw its map into this file.")] = None,
    history: Annotated[bool, typer.Option("--history", help="Show everything that happened to it.")] = False,
    correct: Annotated[
        list[str] | None,
        typer.Option(
            metavar="FACT=VALUE",
            help="Correct length, width, thickness, bow, spring, cup, twist (mm; 4/2000 where measured over a"
            " part), heart (A or B), sawn (back,"
            ' quarter, unknown, or the angle of rings to face), colour-a, colour-b ("L,a,b") or note; may be'
            " repeated.",
        ),
    ] = None,
    move: Annotated[str | None, typer.Option(metavar="PLACE", help="Say where it now stands.")] = None,
    write_down: Annotated[
        str | None,
        typer.Option(metavar="AMOUNT", help="Write it down to this worth; say why with --because."),
    ] = None,
    sells_for: Annotated[
        str | None,
        typer.Option(
            metavar="AMOUNT",
            help="What it would sell for, net: it stands for that or its cost, the lower; say why.",
        ),
    ] = None,
    dispose: Annotated[bool, typer.Option("--dispose", help="Take it off the books; say why.")] = False,
    because: because_option = "",
) -> None:
    """Show one board with its map, or change what is known of it."""
    from stockyard.services.correct_board import correct_board, move_boards
    from stockyard.services.show_board import show_board

    session = session_of(context)
    open_work = session.open_work()
    if correct:
        correct_board(open_work, number, _correction(correct), because)
    if move is not None:
        move_boards(open_work, (number,), move, because)
    if write_down is not None:
        from stockyard.services.write_down_board import write_down_board

        write_down_board(open_work, number, to=amount_of(write_down, "--write-down"), reason=because)
    if sells_for is not None:
        from stockyard.services.value_at_realisable import value_board

        value_board(open_work, number, amount_of(sells_for, "--sells-for"), reason=because)
    if dispose:
        from stockyard.services.dispose_board import dispose_board

        dispose_board(open_work, number, reason=because)
    sheet = show_board(open_work, number)
    if svg is not None:
        from stockyard.drawings import board_map

        write_file(svg, board_map(sheet.board))
    if session.as_json:
        say_json(sheet_json(sheet))
    else:
        _print_sheet(sheet, history)
        if svg is not None:
            say(f"Its map is drawn in {svg}.")


def piece_json(piece: "Piece") -> dict[str, object]:
    """A piece as scripts see it: short names, mm, percent, money."""
    return {
        "id": piece.number,
        "kind": piece.kind.value,
        "species": piece.species,
        "length": piece.length_mm,
        "width": piece.width_mm,
        "thickness": piece.thickness_mm,
        "moisture": piece.moisture_pct,
        "place": piece.place,
        "status": piece.status.value,
        "value": plain(piece.value),
        "supplier": piece.supplier,
        "docket": piece.delivery,
        "parent": piece.parent,
        "plan": piece.promised_to,
        "note": piece.note,
    }


def sheet_json(sheet: "BoardSheet") -> dict[str, object]:
    """A board's sheet as scripts see it."""
    return {
        **piece_json(sheet.piece),
        "distortion": {
            name.removesuffix("_mm"): getattr(sheet.piece.distortion, name)
            for name in ("bow_mm", "spring_mm", "cup_mm", "twist_mm")
        },
        "heart_face": plain(sheet.piece.heart_face),
        "ring_angle_deg": sheet.piece.ring_angle_deg,
        "colour": {"A": plain(sheet.piece.colour_a), "B": plain(sheet.piece.colour_b)},
        "defects": [plain(mapped) for mapped in sheet.defects],
        "readings": [plain(reading) for reading in sheet.readings],
        "changes": [plain(change) for change in sheet.changes],
        "movements": [plain(movement) for movement in sheet.movements],
        "children": [child.number for child in sheet.children],
    }


def _correction(given: list[str]) -> "Correction":
    from stockyard.cli.read import number_of
    from stockyard.services.correct_board import Correction

    facts: dict[str, Any] = {}
    for pair in given:
        fact, equals, value = pair.partition("=")
        fact = fact.strip()
        if not equals:
            raise typer.BadParameter(f"{pair!r} is not FACT=VALUE", param_hint="--correct")
        if fact in ("length", "width", "thickness"):
            facts[f"{fact}_mm"] = number_of(value, f"--correct {fact}")
        elif fact in ("bow", "spring", "cup", "twist"):
            deviation, slash, over = value.partition("/")
            facts[f"{fact}_mm"] = number_of(deviation, f"--correct {fact}")
            if slash:
                part = {f"{fact}_mm": number_of(over, f"--correct {fact}")}
                facts["measured_over_mm"] = {**facts.get("measured_over_mm", {}), **part}
        elif fact == "heart":
            facts["heart_face"] = face_of(value, through=False)
        elif fact == "sawn":
            facts.update(_sawn(value))
        elif fact in ("colour-a", "colour-b"):
            facts[fact.replace("-", "_")] = colour_of(value, f"--correct {fact}")
        elif fact == "note":
            facts["note"] = value
        else:
            raise typer.BadParameter(f"{fact!r} is not a fact that can be corrected", param_hint="--correct")
    return Correction(**facts)


def _sawn(text: str) -> dict[str, Any]:
    """How a board was sawn, as the facts of a correction."""
    from stockyard.cli.read import number_of

    word = text.strip().casefold().removesuffix("sawn")
    if word == "unknown":
        return {"rings_unknown": True}
    angle = {"back": 0.0, "quarter": 90.0}.get(word)
    return {"ring_angle_deg": number_of(word, "--correct sawn") if angle is None else angle}


def _told_sawn(angle: float | None) -> str:
    """Backsawn below 45 degrees of ring to face, else quartersawn."""
    if angle is None:
        return "not said"
    name = "backsawn" if angle < 45 else "quartersawn"
    return name if angle in (0, 90) else f"{name}, rings at {angle:g} degrees to the face"


def _print_sheet(sheet: "BoardSheet", history: bool) -> None:
    from stockyard.drawings import board_text

    piece = sheet.piece
    say(
        f"{piece.number}  {piece.species}, {piece.kind.value},"
        f" {size(piece.length_mm, piece.width_mm, piece.thickness_mm)} mm"
    )
    came = f"docket {piece.delivery} of {piece.supplier}" if piece.delivery else ""
    cut = f"cut from {piece.parent}" if piece.parent else ""
    read = (
        f"{piece.moisture_pct:g} % on {piece.moisture_on}" if piece.moisture_pct is not None else "never read"
    )
    bend = piece.distortion
    facts = (
        ("status", piece.status.value + (f" to plan {piece.promised_to}" if piece.promised_to else "")),
        ("place", piece.place or "not said"),
        ("worth", f"{piece.value:,} {sheet.currency}"),
        ("from", ", ".join(text for text in (cut, came) if text) or "not said"),
        ("moisture", read),
        (
            "distortion",
            f"bow {bend.bow_mm:g}, spring {bend.spring_mm:g}, cup {bend.cup_mm:g},"
            f" twist {bend.twist_mm:g} mm",
        ),
        ("heart", f"towards face {piece.heart_face.value}" if piece.heart_face else "not said"),
        ("sawn", _told_sawn(piece.ring_angle_deg)),
        ("note", piece.note),
        ("cut into", ", ".join(child.number for child in sheet.children)),
    )
    for name, text in facts:
        if text:
            say(f"  {name:<11}{text}")
    say()
    say(board_text(sheet.board))
    if sheet.defects:
        table(
            ("defect", "kind", "face", ">size, mm", ">depth", ">opening", "state", "note"),
            (
                (
                    mapped.defect.id,
                    mapped.defect.kind.value.replace("_", " "),
                    mapped.defect.face.value,
                    extent(mapped.defect.outline),
                    mapped.defect.depth_mm,
                    mapped.defect.opening_mm,
                    mapped.state.value,
                    mapped.note,
                )
                for mapped in sheet.defects
            ),
        )
    if history:
        _print_history(sheet)


def extent(outline: tuple[tuple[float, float], ...]) -> str:
    """How far an outline reaches along and across its board, in mm."""
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    return f"{millimetres(max(xs) - min(xs))} x {millimetres(max(ys) - min(ys))}"


def _print_history(sheet: "BoardSheet") -> None:
    from stockyard.services.tell_change import told as in_words

    told = [(change.at, change.who, in_words(change), change.cause) for change in sheet.changes]
    for movement in sheet.movements:
        worth = sum((line.value for line in movement.lines if line.piece == sheet.piece.number), Decimal(0))
        what = f"movement {movement.id}: {movement.kind.value.replace('_', ' ')}"
        what += f", worth {worth:+,}" if worth else ""
        if movement.at is not None:
            told.append((movement.at, movement.who, what, movement.cause))
    for reading in sheet.readings:
        if reading.at is not None:
            told.append((reading.at, reading.who, f"meter read {reading.raw_pct:g} %", reading.rule))
    table(
        ("when", "who", "what", "why"),
        (
            (f"{at.astimezone():%Y-%m-%d %H:%M}", who, what, why)
            for at, who, what, why in sorted(told, key=lambda entry: entry[0])
        ),
    )
