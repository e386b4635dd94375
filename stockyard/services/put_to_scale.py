"""Pictures of one face, given as files, decoded and laid out at true scale in the board's frame."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from stockyard.errors import BadInput, Fault
from stockyard.timber.defect import Face
from stockyard.timber.photo import PhotoScale, PhotoSeam

if TYPE_CHECKING:
    from stockyard.photos.decode import Picture, Pixels
    from stockyard.photos.kept_face import AtScale
    from stockyard.photos.plane import PlaneMap

MOST_PICTURES = 12
_MOST_PIXELS_TOGETHER = 200_000_000
_ORDERS = ("given", "name", "taken")
_SIDES = ("left", "right", "top", "bottom")
_USUAL_MARKER_MM = 40.0


@dataclass(frozen=True, slots=True)
class GivenPicture:
    """A picture's file as it was handed in: what it holds, and its name."""

    content: bytes
    name: str


@dataclass(frozen=True, slots=True)
class HowTaken:
    """What a person says of the pictures; what is left out is found in them.

    end1: the side of the picture that end 1 lies towards ("left", "right", "top", "bottom"), where no card
    says it. corners_px: of the face, by hand, (column, row) of the upright picture, in any order around it.
    order: which picture of several is nearest end 1: as "given", by "name", or by the time each was "taken".
    marker_mm: the side of the printed markers as measured, 10 to 200. keep_location: the kept file may say
    where it was taken.
    """

    end1: str = "left"
    corners_px: Sequence[tuple[float, float]] | None = None
    order: str = "given"
    marker_mm: float = _USUAL_MARKER_MM
    keep_location: bool = False

    def checked(self) -> "HowTaken":
        """Itself. Raises BadInput with everything in it that cannot be meant."""
        faults = []
        if self.end1 not in _SIDES:
            faults.append(Fault("end 1", "left, right, top or bottom", repr(self.end1)))
        if self.order not in _ORDERS:
            faults.append(Fault("order", "given, name or taken", repr(self.order)))
        if not 10 <= self.marker_mm <= 200:
            faults.append(Fault("marker", "a side of 10 to 200 mm", f"{self.marker_mm:g}"))
        if self.corners_px is not None and len(self.corners_px) != 4:
            faults.append(Fault("corners", "four, each a column and a row", f"{len(self.corners_px)}"))
        if faults:
            raise BadInput("The pictures cannot have been taken so.", faults)
        return self

    def asked(self) -> dict[str, Any]:
        """What was said that is not as usual, as plain JSON values."""
        said: dict[str, Any] = {}
        if self.end1 != "left":
            said["end1"] = self.end1
        if self.corners_px is not None:
            said["corners_px"] = [[float(u), float(v)] for u, v in self.corners_px]
        if self.marker_mm != _USUAL_MARKER_MM:
            said["marker_mm"] = self.marker_mm
        return said


@dataclass(frozen=True, slots=True)
class LaidOut:
    """A face at true scale, in memory. pictures: in order from end 1, with the place of each as given."""

    face: "AtScale"
    scale: PhotoScale
    pictures: tuple["Picture", ...]
    order: tuple[int, ...] = field(default=())


def decoded(given: Sequence[GivenPicture], how: HowTaken) -> tuple[tuple["Picture", ...], tuple[int, ...]]:
    """The pictures, decoded after they were checked, in order from end 1, and the place of each as given.

    Raises BadInput for what is no picture, is cut short, too large, moves ... and says what to do.
    """
    from stockyard.photos.decode import decode

    if not given:
        raise BadInput("No picture was given; name at least one.")
    if len(given) > MOST_PICTURES:
        raise BadInput(f"{len(given)} pictures are too many for one face; {MOST_PICTURES} are the most.")
    pictures: list[Picture] = []
    for each in given:
        pictures.append(decode(each.content, each.name))
        if sum(picture.pixels.size for picture in pictures) > 3 * _MOST_PIXELS_TOGETHER:
            raise BadInput(
                f"Together the pictures have over {_MOST_PIXELS_TOGETHER / 1e6:.0f} megapixels; set the "
                "phone to a smaller size, 12 megapixels are plenty."
            )
    order = list(range(len(given)))
    if how.order == "name":
        order.sort(key=lambda place: given[place].name)
    if how.order == "taken":
        undated = [each.name for each, picture in zip(given, pictures, strict=True) if picture.taken is None]
        if undated:
            raise BadInput(
                f"{', '.join(undated)} {'does' if len(undated) == 1 else 'do'} not say when taken; give the "
                "pictures in order from end 1 instead."
            )
        order.sort(key=lambda place: (pictures[place].taken, given[place].name))
    return tuple(pictures[place] for place in order), tuple(order)


def laid_out(
    pictures: Sequence["Picture"], length_mm: float, width_mm: float, face: Face, how: HowTaken
) -> LaidOut:
    """The face at true scale: by cards, outline or corners, or from several pictures as one strip.

    Raises BadInput with the reason when the pictures cannot be put to scale or cannot be trusted.
    """
    if len(pictures) > 1:
        return _strip(pictures, length_mm, width_mm, face, how)
    import numpy as np

    from stockyard.photos.scale import Side, true_scale

    (picture,) = pictures
    corners = None if how.corners_px is None else np.asarray(how.corners_px, float)
    true = true_scale(
        picture.pixels,
        length_mm,
        width_mm,
        face,
        corners_px=corners,
        end1=Side(how.end1),
        focal_35mm=picture.focal_35mm,
        marker_mm=how.marker_mm,
    )
    scale = PhotoScale(
        way=true.way.value,
        mm_per_px=float(true.mm_per_px),
        seen_mm_per_px=_pair(true.seen_mm_per_px),
        disagrees_pct=_pair(true.disagrees_pct),
        finest_mm=round(float(true.finest_mm), 3),
        error_px=None if true.error_px is None else round(float(true.error_px), 3),
        cards=tuple(int(card) for card in true.cards),
        white=true.white,
        covered=_rounded(true.covered),
        remarks=true.remarks,
        corners_px=(_corners(true.plane, length_mm, width_mm),),
        asked=how.asked(),
    )
    if scale.way == "outline":
        _refuse_unread_cards(picture.pixels, true.pixels, scale.mm_per_px)
    return LaidOut(true, scale, tuple(pictures))


def _refuse_unread_cards(picture: "Pixels", face: "Pixels", mm_per_px: float) -> None:
    """Cards that say nothing spoil the outline, and a mirrored face is that of no board."""
    from stockyard.photos.unread_cards import mirrored_cards, white_squares

    if mirrored_cards(picture):
        raise BadInput(
            "The picture is mirrored: its cards can be read only in a mirror; turn off mirroring in the "
            "camera and take it again."
        )
    count = white_squares(face, mm_per_px)
    if count:
        raise BadInput(
            f"{count} white {'square' if count == 1 else 'squares'} of a card's size on the face cannot be "
            "read; lay the cards face up, flat and clean, or take them off, or give the face's four corners."
        )


def _strip(
    pictures: Sequence["Picture"], length_mm: float, width_mm: float, face: Face, how: HowTaken
) -> LaidOut:
    from stockyard.photos.kept_face import card_white
    from stockyard.photos.scale import Side
    from stockyard.photos.strip import join_strip
    from stockyard.photos.trust import TrustLimits, Way, check_trust

    if how.corners_px is not None:
        raise BadInput("Four corners put one picture to scale; several pictures are joined without them.")
    strip = join_strip(
        [picture.pixels for picture in pictures],
        length_mm,
        width_mm,
        face,
        end1=Side(how.end1),
        marker_mm=how.marker_mm,
    )
    share = length_mm / len(pictures)
    seen = [
        plane.mm_per_px(((place + 0.5) * share, width_mm / 2)) for place, plane in enumerate(strip.planes)
    ]
    coarsest = (max(along for along, _ in seen), max(across for _, across in seen))
    closes = (strip.closes_pct, 0.0)
    limits = TrustLimits(length_pct=2.0)  # as far as pictures laid together are let differ
    remarks = check_trust(strip.pixels, coarsest, closes, None, Way.CARDS, limits)
    scale = PhotoScale(
        way=(Way.CARDS if strip.covered else Way.OUTLINE).value,
        mm_per_px=float(strip.mm_per_px),
        seen_mm_per_px=_pair(coarsest),
        disagrees_pct=_pair(closes),
        finest_mm=round(limits.px_to_show * max(coarsest), 3),
        white=card_white(strip),
        covered=_rounded(strip.covered),
        seams=tuple(
            PhotoSeam(seam.by, float(seam.error_mm), int(seam.shared), float(seam.overlap_mm))
            for seam in strip.seams
        ),
        remarks=remarks,
        corners_px=tuple(_corners(plane, length_mm, width_mm) for plane in strip.planes),
        asked=how.asked(),
    )
    return LaidOut(strip, scale, tuple(pictures))


def _corners(plane: "PlaneMap", length_mm: float, width_mm: float) -> tuple[tuple[float, float], ...]:
    board = [(0, 0), (length_mm, 0), (length_mm, width_mm), (0, width_mm)]
    return tuple((round(float(u), 1), round(float(v), 1)) for u, v in plane.to_picture(board))


def _pair(values: tuple[float, float]) -> tuple[float, float]:
    return round(float(values[0]), 4), round(float(values[1]), 4)


def _rounded(
    outlines: Sequence[Sequence[tuple[float, float]]],
) -> tuple[tuple[tuple[float, float], ...], ...]:
    return tuple(tuple((round(float(x), 1), round(float(y), 1)) for x, y in each) for each in outlines)
