"""photo suggest, list, accept, reject, edit: deciding on the flaws that photographs suggest."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Any

import typer

from stockyard.cli.photo import BoardsArgument, DocketOption, OneFaceOption, photos
from stockyard.cli.read import because_option, face_of
from stockyard.cli.session import session_of
from stockyard.cli.show import say, say_json, table
from stockyard.errors import BadInput
from stockyard.measures.plain import plain

if TYPE_CHECKING:
    from stockyard.services.decide_suggestions import Decided, Which
    from stockyard.services.suggest_defects import Offer, ReadFace
    from stockyard.timber import Outline

_MOST_TOLD = 24  # more lines than a screen has are counted by board instead

WhichArgument = Annotated[
    list[str] | None,
    typer.Argument(metavar="[WHICH]...", help="SG-0003:2, SG-0003:2-5,8, or a board with --all or the like."),
]
AllOption = Annotated[bool, typer.Option("--all", help="Every open one of those boards.")]
KindOption = Annotated[str | None, typer.Option("--kind", help="Open ones of that kind.")]
AboveOption = Annotated[
    float | None, typer.Option("--above", metavar="CONFIDENCE", help="Open ones at least so sure, 0 to 1.")
]
FaceOption = Annotated[str | None, typer.Option("--face", help="Open ones of face A or B.")]


@photos.command(
    "suggest",
    short_help="Read photographed faces for flaws.",
    epilog="Example: stockyard photo suggest SG-0003",
)
def suggest(
    context: typer.Context,
    boards: BoardsArgument = None,
    docket: DocketOption = None,
    face: OneFaceOption = None,
    least_confidence: Annotated[
        float | None, typer.Option("--least-confidence", help="Leave out what is less sure, 0 to 1.")
    ] = None,
    least_mm: Annotated[
        float | None, typer.Option("--least-mm", help="Leave out what is smaller, in mm.")
    ] = None,
    reader: Annotated[
        str | None,
        typer.Option(help="What reads: learned, classical or both; as the photo's scale asks, if not said."),
    ] = None,
) -> None:
    """Read the newest photo of each face for flaws; what is found is kept, and waits for a person's word."""
    from stockyard.services.suggest_defects import Boards, suggest_defects

    session = session_of(context)
    if not boards and docket is None:
        raise BadInput("Name the boards to read, or a --docket.")
    given = {"least_confidence": least_confidence, "least_mm": least_mm, "reader": reader}
    found = suggest_defects(
        session.open_work(),
        Boards(tuple(boards or ()), docket),
        None if face is None else face_of(face, through=False),
        {name: value for name, value in given.items() if value is not None},
    )
    if session.as_json:
        say_json([_document(each) for each in found])
        return
    _say_faces(found, each=docket is None and len(boards or ()) <= 2)
    if any(each.counts["open"] for each in found):
        first = next(each.photo.piece for each in found if each.counts["open"])
        say(f"Look at them (`stockyard photo show faces.jpg {first}`), then accept or reject.")


@photos.command(
    "list", short_help="List photographs and suggestions.", epilog="Example: stockyard photo list SG-0003"
)
def list_(
    context: typer.Context,
    boards: BoardsArgument = None,
    docket: DocketOption = None,
    face: OneFaceOption = None,
    each: Annotated[bool, typer.Option("--each", help="Every suggestion, of many boards too.")] = False,
    only_open: Annotated[
        bool, typer.Option("--open", help="Every suggestion that waits to be decided.")
    ] = False,
    history: Annotated[
        str | None, typer.Option("--history", metavar="SG-0003:2", help="Everything said to one suggestion.")
    ] = None,
) -> None:
    """List photographed faces and what is suggested on them, decided or not."""
    from stockyard.services.decide_suggestions import suggestion_history
    from stockyard.services.suggest_defects import Boards, list_photos

    session = session_of(context)
    if history is not None:
        one, said = suggestion_history(session.open_work(), history)
        if session.as_json:
            say_json({"suggested": one, "decisions": said})
            return
        sure = f"{one.confidence:.0%} sure on photo {one.photo}"
        say(f"{one.id}: {_words(one.kind)}, face {one.face.value}, {sure}.")
        table(
            ("when", "who", "said", "defect", "changed", "why"),
            (
                (
                    "" if each.at is None else f"{each.at.astimezone():%Y-%m-%d %H:%M}",
                    each.who,
                    each.verdict.value,
                    each.defect or "",
                    ", ".join(_changes(each.changed)),
                    each.cause,
                )
                for each in said
            ),
        )
        return
    which = Boards(tuple(boards or ()), docket)
    found = list_photos(session.open_work(), which, None if face is None else face_of(face, through=False))
    if only_open:
        found = tuple(
            replace(read, offers=tuple(offer for offer in read.offers if offer.open))
            for read in found
            if read.counts["open"]
        )
    if session.as_json:
        say_json([_document(each) for each in found])
        return
    if not found and only_open:
        say("Nothing waits to be decided on these boards.")
        return
    if not found:
        say("None of these was photographed; add a photo with `stockyard photo add BOARD --face A FILE`.")
        return
    _say_faces(found, each=each or only_open or (docket is None and 1 <= len(boards or ()) <= 2))


@photos.command(
    "accept",
    short_help="Put suggested flaws on the map.",
    epilog="Example: stockyard photo accept SG-0003:1-4 SG-0003:7",
)
def accept(
    context: typer.Context,
    which: WhichArgument = None,
    docket: DocketOption = None,
    every: AllOption = False,
    kind: KindOption = None,
    above: AboveOption = None,
    face: FaceOption = None,
    as_new: Annotated[
        bool, typer.Option("--as-new", help="Also map what meets a mapped flaw, as one of its own.")
    ] = False,
    apart: Annotated[
        bool, typer.Option("--apart", help="Map a crack seen on both faces as two cracks.")
    ] = False,
    because: because_option = "",
) -> None:
    """Put suggested flaws on their boards' maps, one or many, all or none of them."""
    from stockyard.services.decide_suggestions import accept_suggestions

    session = session_of(context)
    chosen = _which(which, docket, every, kind, above, face)
    done = accept_suggestions(session.open_work(), chosen, as_new=as_new, apart=apart, because=because)
    _say_decided(done, session.as_json)


@photos.command(
    "reject",
    short_help="Say no to suggested flaws.",
    epilog='Example: stockyard photo reject SG-0003:5 --because "a pencil mark"',
)
def reject(
    context: typer.Context,
    which: WhichArgument = None,
    docket: DocketOption = None,
    every: AllOption = False,
    kind: KindOption = None,
    above: AboveOption = None,
    face: FaceOption = None,
    because: because_option = "",
) -> None:
    """Say no to suggested flaws; one that was accepted comes off the map."""
    from stockyard.services.decide_suggestions import reject_suggestions

    session = session_of(context)
    chosen = _which(which, docket, every, kind, above, face)
    _say_decided(reject_suggestions(session.open_work(), chosen, because=because), session.as_json)


@photos.command(
    "edit",
    short_help="Accept suggested flaws with changes.",
    epilog='Example: stockyard photo edit SG-0003:2 --kind "gum vein"',
)
def edit(
    context: typer.Context,
    which: Annotated[list[str], typer.Argument(metavar="WHICH...", help="SG-0003:2, or SG-0003:2-5,8.")],
    kind: Annotated[str | None, typer.Option("--kind", help="What it is instead.")] = None,
    face: Annotated[str | None, typer.Option("--face", help="A, B, or both: it goes through.")] = None,
    box: Annotated[str | None, typer.Option("--box", metavar="X0,Y0,X1,Y1", help="Its corners, mm.")] = None,
    polygon: Annotated[
        str | None, typer.Option("--polygon", metavar='"X,Y X,Y X,Y"', help="Its outline, mm.")
    ] = None,
    line: Annotated[str | None, typer.Option("--line", metavar='"X,Y X,Y"', help="A crack's line.")] = None,
    opening: Annotated[float | None, typer.Option("--opening", help="How far a crack gapes, in mm.")] = None,
    depth: Annotated[float | None, typer.Option("--depth", help="How deep it reaches, in mm.")] = None,
    note: Annotated[str | None, typer.Option("--note", help="Anything worth remembering.")] = None,
    because: because_option = "",
) -> None:
    """Accept suggested flaws with changes; what was suggested stays on record beside what you made of it."""
    from stockyard.cli.defects import sketch_of
    from stockyard.services.decide_suggestions import Which, edit_suggestions

    session = session_of(context)
    if any(":" not in each for each in which):
        raise BadInput("Say which suggestions to correct, such as SG-0003:2.")
    sketch = sketch_of(kind, face, box, polygon, line, opening, depth, note)
    done = edit_suggestions(session.open_work(), Which(tuple(which)), sketch, because=because)
    _say_decided(done, session.as_json)


def _which(
    refs: Sequence[str] | None,
    docket: str | None,
    every: bool,
    kind: str | None,
    above: float | None,
    face: str | None,
) -> "Which":
    from stockyard.services.decide_suggestions import Which
    from stockyard.services.map_defects import kind_named

    if above is not None and not 0 <= above <= 1:
        raise BadInput(f"--above: expected a confidence of 0 to 1, found {above:g}.")
    return Which(
        refs=tuple(refs or ()),
        docket=docket,
        every=every,
        kind=None if kind is None else kind_named(kind),
        above=above,
        face=None if face is None else face_of(face, through=False),
    )


def _say_faces(found: Sequence["ReadFace"], *, each: bool) -> None:
    table(
        ("board", "face", ">photo", ">pictures", ">mm/px", ">open", ">accepted", ">rejected", ">same"),
        (
            (
                face.photo.piece,
                face.photo.face.value,
                face.photo.number,
                len(face.photo.pictures),
                f"{face.photo.scale.seen_mm_per_px[0]:.2f}",
                *(
                    ("not read", "", "", "")
                    if face.detection is None
                    else (face.counts[name] for name in ("open", "accepted", "rejected", "same"))
                ),
            )
            for face in found
        ),
    )
    if not each:
        return
    offers = [offer for face in found for offer in face.offers]
    if offers:
        table(
            ("suggestion", "kind", "face", ">sure", ">at x, y", ">size, mm", "or else", "now"),
            (
                (
                    offer.suggested.id,
                    _words(offer.suggested.kind),
                    offer.suggested.face.value,
                    f"{offer.suggested.confidence:.0%}",
                    _corner(offer.outline),
                    _extent(offer.outline),
                    "".join(_words(kind) for kind in offer.suggested.could_be[:1]),
                    _now(offer),
                )
                for offer in offers
            ),
        )


def _now(offer: "Offer") -> str:
    """Where a suggestion stands, or what it meets."""
    decided = offer.suggested.decided
    if decided is not None:
        return decided.verdict.value + (f" {_own(decided.defect)}" if decided.defect else "")
    if offer.same_as is not None:
        return f"same as {_own(offer.same_as)}"
    if offer.through is not None:
        return f"through, {_own(offer.through)}"
    return "" if offer.refused_as is None else f"rejected {_own(offer.refused_as)}"


def _own(id_: str) -> str:
    """A suggestion's or a defect's number within its board: ":3", "/2"."""
    return id_[max(id_.rfind(":"), id_.rfind("/")) :]


def _changes(changed: Mapping[str, Any]) -> list[str]:
    return [
        f"{name.removesuffix('_mm')} {_words(value) if isinstance(value, str) else f'{value:g}'}"
        if isinstance(value, str | float | int)
        else name
        for name, value in changed.items()
        if name not in ("was", "with")
    ]


def _say_decided(done: Sequence["Decided"], as_json: bool) -> None:
    if as_json:
        say_json([plain(each) for each in done])
        return
    if not done:
        say("No open suggestion is like that; nothing was changed.")
        return
    if len(done) <= _MOST_TOLD:
        for each in done:
            say(_told(each))
        return
    boards = Counter((each.suggested.piece, each.decision.verdict.value) for each in done)
    table(("board", "said", ">suggestions"), ((*key, count) for key, count in sorted(boards.items())))
    say(f"{len(done)} suggestions decided, on {len({board for board, _ in boards})} boards.")


def _told(each: "Decided") -> str:
    one, said = each.suggested, each.decision.verdict.value
    if each.defect is None:
        return f"{one.id} {said} ({_words(one.kind)})."
    defect = each.defect.defect
    faces = "through" if defect.through else f"face {defect.face.value}"
    if said == "same":
        return f"{one.id} is the same as {defect.id}, {_words(defect.kind)}, {faces}; the map stays as it is."
    return f"{one.id} {said}: {defect.id}, {_words(defect.kind)}, {faces}, {_extent(defect.outline)} mm."


def _document(found: "ReadFace") -> dict[str, Any]:
    return {
        "photo": plain(found.photo),
        "detection": plain(found.detection),
        "suggestions": [
            {
                "id": offer.suggested.id,
                **plain(offer.suggested),
                "outline": plain(offer.outline),
                "same_as": offer.same_as,
                "through": offer.through,
                "rejected_before_as": offer.refused_as,
            }
            for offer in found.offers
        ],
    }


def _corner(outline: "Outline") -> str:
    return f"{min(x for x, _ in outline):.0f}, {min(y for _, y in outline):.0f}"


def _extent(outline: "Outline") -> str:
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    return f"{max(xs) - min(xs):.0f} x {max(ys) - min(ys):.0f}"


def _words(kind: str) -> str:
    return kind.replace("_", " ")
