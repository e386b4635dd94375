"""Read photographed faces for defects, and list what stands suggested, beside what the map knows already.

    suggest_defects(open_work, which, face, settings) -> tuple[ReadFace, ...]
    list_photos(open_work, which)                     -> tuple[ReadFace, ...]     reads nothing anew

which: Boards(numbers, docket). A ReadFace has the photo, its reading (None when not yet read) and an Offer
for each suggestion. An Offer says what it meets: same_as, a mapped defect's id; through, the id of a
suggestion or of a mapped crack on the other face that it makes one crack with; refused_as, an earlier
suggestion that a person said no to.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any

from stockyard.errors import BadInput
from stockyard.geometry.outline import sound_outline
from stockyard.timber.defect import Face, Outline
from stockyard.timber.mapped_defect import MappedDefect
from stockyard.timber.photo import KeptDetection, Photo, SuggestedDefect
from stockyard.timber.piece import Piece
from stockyard.timber.rack_query import RackQuery

if TYPE_CHECKING:
    from stockyard.photos.detect import FaceSuggestion
    from stockyard.records.connect import OpenWork
    from stockyard.records.unit_of_work import UnitOfWork

_COARSE_MM_PER_PX = 0.7
"""Coarser photos are read by the classical reader: on the sample faces of 0.77 to 1.28 mm a pixel it found 20
of 25 labelled flaws and nothing else, the learned one 16 and 51 things that are none; on finer ones they are
alike."""


@dataclass(frozen=True, slots=True)
class Boards:
    """Which boards: those named, or all of a docket that are on hand; neither, every photographed one."""

    numbers: tuple[str, ...] = ()
    docket: str | None = None


@dataclass(frozen=True, slots=True)
class Offer:
    """A suggestion with what it meets. outline: as it lies on the board at its logged size [mm].

    through: a suggestion ("SG-0001:7") or a mapped defect ("SG-0001/2") of the other face. through_outline:
    around both.
    """

    suggested: SuggestedDefect
    outline: Outline
    same_as: str | None = None
    through: str | None = None
    through_outline: Outline | None = None
    refused_as: str | None = None

    @property
    def open(self) -> bool:
        """Has nobody decided on it?"""
        return self.suggested.decided is None


@dataclass(frozen=True, slots=True)
class ReadFace:
    """A photographed face: its newest photo, the newest reading of it and what that suggested."""

    photo: Photo
    detection: KeptDetection | None
    offers: tuple[Offer, ...]

    @property
    def counts(self) -> Mapping[str, int]:
        """How many suggestions are open, accepted, rejected, and the same as mapped ones."""
        return Counter(
            "open" if each.suggested.decided is None else each.suggested.decided.verdict.value
            for each in self.offers
        )


def suggest_defects(
    open_work: "OpenWork",
    which: Boards,
    face: Face | None = None,
    settings: Mapping[str, Any] | None = None,
) -> tuple[ReadFace, ...]:
    """Read the newest photo of each face for defects, and keep what was found and by what settings.

    face: only that one. settings: by name, as DetectionSettings has them; what is left out is as usual, save
    that a coarse photo is read by the classical reader unless told otherwise. A photo that was read before in
    the same way is not read again. Raises NotFound; BadInput for settings that cannot be meant, and for a
    board named that has no photo.
    """
    from stockyard.photos.detect import fitted_by, suggest
    from stockyard.photos.kept_face import KeptFace, open_face

    _settings(settings)  # refused before anything is looked up
    with open_work(reading=True) as work:
        pieces = pieces_named(work, which)
        photos = _photos(work, which, pieces, face)
        read = work.suggestions.detections(photo.number for photo in photos)
        files = work.picture_files if photos else None
    for photo in photos:
        coarse = max(photo.scale.seen_mm_per_px) > _COARSE_MM_PER_PX
        asked = _settings({"reader": "classical", **(settings or {})} if coarse else settings)
        plain = _plain(asdict(asked))
        before = read.get(photo.number)
        if before is not None and (_plain(before.settings), before.fitted) == (plain, fitted_by(asked)):
            continue
        assert files is not None
        pixels = open_face(files.read(f"{photo.face_digest}.jpg"))
        scale = photo.scale
        laid = KeptFace(pixels, scale.mm_per_px, photo.length_mm, photo.width_mm, scale.covered)
        found = [made for each in suggest(laid, asked) if (made := _suggested(each, photo)) is not None]
        with open_work() as work:
            work.suggestions.add(photo, plain, fitted_by(asked), found)
            work.commit()
    return list_photos(open_work, Boards(tuple(sorted({photo.piece for photo in photos}))), face)


def list_photos(open_work: "OpenWork", which: Boards, face: Face | None = None) -> tuple[ReadFace, ...]:
    """The newest photo of each face with everything suggested on it, by board and face.

    Raises NotFound for no such board or docket.
    """
    with open_work(reading=True) as work:
        pieces = pieces_named(work, which)
        return tuple(
            each for each in faces_of(work, pieces.values()) if face is None or each.photo.face is face
        )


def faces_of(work: "UnitOfWork", pieces: Iterable[Piece]) -> tuple[ReadFace, ...]:
    """The photographed faces of pieces with what was suggested, and what each suggestion meets."""
    by_number = {piece.number: piece for piece in pieces}
    standing = work.photos.standing(by_number)
    detections = work.suggestions.detections(photo.number for photo in standing.values())
    found: dict[int, list[SuggestedDefect]] = {}
    for each in work.suggestions.of_detections(detection.id for detection in detections.values()):
        found.setdefault(each.photo, []).append(each)
    open_on = {photo for photo, some in found.items() if any(each.decided is None for each in some)}
    some_open = {photo.piece for photo in standing.values() if photo.number in open_on}
    mapped = work.defects.of_pieces(some_open)
    refused: dict[str, list[SuggestedDefect]] = {}
    for each in work.suggestions.rejected(some_open):
        refused.setdefault(each.piece, []).append(each)
    faces: list[ReadFace] = []
    for (number, _), photo in sorted(standing.items()):
        piece = by_number[number]
        offers = tuple(
            Offer(each, _on_board(each.outline, photo, piece)) for each in found.get(photo.number, ())
        )
        faces.append(ReadFace(photo, detections.get(photo.number), offers))
    return tuple(
        done
        for number in sorted(by_number)
        for done in _met(
            [each for each in faces if each.photo.piece == number],
            mapped.get(number, ()),
            refused.get(number, ()),
        )
    )


def _met(
    faces: list[ReadFace], mapped: tuple[MappedDefect, ...], refused: Iterable[SuggestedDefect]
) -> list[ReadFace]:
    """Faces of one board, each open offer with what it meets."""
    open_ones = {each.photo.face: [offer for offer in each.offers if offer.open] for each in faces}
    if not any(open_ones.values()):
        return faces
    from stockyard.photos.same import already_mapped, through_cracks
    from stockyard.timber import Defect

    met: dict[str, Offer] = {}
    known = [each.defect for each in mapped]
    for face, offers in open_ones.items():
        seen = [_as_seen(offer) for offer in offers]
        for match in already_mapped(seen, face, known):
            met[offers[match.suggestion].suggested.id] = replace(
                offers[match.suggestion], same_as=match.defect
            )
        before = [
            Defect(each.id, each.kind, each.face, each.outline) for each in refused if each.face is face
        ]
        for match in already_mapped(seen, face, before, near_mm=0):
            offer = met.get(offers[match.suggestion].suggested.id, offers[match.suggestion])
            if match.overlap > 0.3:
                met[offer.suggested.id] = replace(offer, refused_as=match.defect)
    free = {
        face: [offer for offer in open_ones.get(face, ()) if offer.suggested.id not in met]
        for face in (Face.A, Face.B)
    }
    # A crack that is on the map of one face already may be the one now seen on the other.
    cracks = {
        face: [(defect.id, _mapped_as_seen(defect)) for defect in known if defect.face is face]
        for face in (Face.A, Face.B)
    }
    on = {
        face: [(offer.suggested.id, _as_seen(offer)) for offer in free[face]] + cracks[face]
        for face in (Face.A, Face.B)
    }
    for pair in through_cracks([seen for _, seen in on[Face.A]], [seen for _, seen in on[Face.B]]):
        ids = {Face.A: on[Face.A][pair.on_a][0], Face.B: on[Face.B][pair.on_b][0]}
        for face, offers in free.items():
            for offer in offers:
                if offer.suggested.id == ids[face]:
                    met[offer.suggested.id] = replace(
                        offer, through=ids[face.other], through_outline=pair.outline
                    )
    return [
        replace(face, offers=tuple(met.get(offer.suggested.id, offer) for offer in face.offers))
        for face in faces
    ]


def pieces_named(work: "UnitOfWork", which: Boards) -> dict[str, Piece]:
    """The pieces meant, by number. Raises NotFound."""
    if which.docket is not None:
        work.deliveries.get(which.docket)
        return {piece.number: piece for piece in work.pieces.find(RackQuery(delivery=which.docket))}
    numbers = which.numbers or tuple(sorted({number for number, _ in work.photos.standing()}))
    return work.pieces.get_many(numbers)


def _photos(
    work: "UnitOfWork", which: Boards, pieces: Mapping[str, Piece], face: Face | None
) -> tuple[Photo, ...]:
    standing = work.photos.standing(pieces)
    photos = [photo for (_, on), photo in sorted(standing.items()) if face is None or on is face]
    bare = [number for number in which.numbers if number not in {photo.piece for photo in photos}]
    if bare:
        of = "" if face is None else f" of face {face.value}"
        raise BadInput(
            f"{', '.join(bare)} {'has' if len(bare) == 1 else 'have'} no photo{of}; add one with "
            f"`stockyard photo add {bare[0]} --face {'A' if face is None else face.value} FILE`."
        )
    return tuple(photos)


def _settings(given: Mapping[str, Any] | None) -> Any:
    from stockyard.photos.detect import DetectionSettings

    try:
        return DetectionSettings(**(given or {}))
    except TypeError as trouble:
        names = ", ".join(DetectionSettings.__dataclass_fields__)
        raise BadInput(f"A reading is set by {names}; {trouble}.") from None


def _plain(settings: Mapping[str, Any]) -> dict[str, Any]:
    return {name: list(value) if isinstance(value, tuple) else value for name, value in settings.items()}


def _suggested(found: "FaceSuggestion", photo: Photo) -> SuggestedDefect | None:
    """A suggestion to be kept; None for one that is no outline on the board."""
    outline = sound_outline(found.outline, photo.length_mm, photo.width_mm)
    if outline is None:
        return None
    seen = found.seen
    return SuggestedDefect(
        photo.piece, 0, photo.face, seen.kind, outline, round(float(seen.confidence), 4),
        tuple(seen.could_be), round(float(seen.length_mm), 1), round(float(seen.width_mm), 1),
        None if seen.opening_mm is None else round(float(seen.opening_mm), 2),
        bool(seen.at_end), bool(seen.at_edge), photo.number,
    )  # fmt: skip


def _on_board(outline: Outline, photo: Photo, piece: Piece) -> Outline:
    """A face was stretched to the board's logged size; where that was corrected, the outline goes with it."""
    along, across = piece.length_mm / photo.length_mm, piece.width_mm / photo.width_mm
    if along == across == 1:
        return outline
    moved = tuple((round(x * along, 2), round(y * across, 2)) for x, y in outline)
    return sound_outline(moved, piece.length_mm, piece.width_mm) or moved


def _as_seen(offer: Offer) -> "FaceSuggestion":
    import numpy as np

    from stockyard.photos.detect import FaceSuggestion, Suggestion

    one = offer.suggested
    seen = Suggestion(
        one.kind, np.zeros((0, 2)), (0, 0, 0, 0), one.confidence, one.could_be, one.length_mm, one.width_mm,
        one.opening_mm, one.at_end, one.at_edge,
    )  # fmt: skip
    return FaceSuggestion(offer.outline, seen)


def _mapped_as_seen(defect: Any) -> "FaceSuggestion":
    whole = SuggestedDefect("", 0, defect.face, defect.kind, defect.outline, 1.0)
    return _as_seen(Offer(whole, defect.outline))
