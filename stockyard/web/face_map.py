"""Both faces of a board in one drawing of its own size: pictures beneath, flaws and suggestions above.

A unit is a millimetre. Face A stands above face B; both are in face A's frame, so that the two sides of what
goes through stand one above the other. In each face x runs right from end 1 and y up from edge 1.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape

from stockyard.drawings.kinds import kind_words
from stockyard.services.suggest_defects import Offer
from stockyard.timber.defect import WEAKENING, Face, Outline
from stockyard.timber.mapped_defect import MappedDefect


@dataclass(frozen=True, slots=True)
class FaceMap:
    """The drawing, and how it lies. size_mm: of the drawing. tops_mm: where each face begins in it."""

    svg: str
    size_mm: tuple[float, float]
    tops_mm: Mapping[str, float]


def face_map(
    length_mm: float,
    width_mm: float,
    defects: Sequence[MappedDefect],
    offers: Iterable[Offer],
    pictures: Mapping[Face, str],
    told: str,
) -> FaceMap:
    """Both faces as an SVG. pictures: the address of each face's picture. told: the drawing in words."""
    gap = max(0.22 * width_mm, 0.012 * length_mm)
    tops = {Face.A: 0.0, Face.B: width_mm + gap}
    size = (length_mm, 2 * width_mm + gap)
    open_ones = [offer for offer in offers if offer.open]
    faces = []
    for face, top in tops.items():
        flaws = "".join(
            _path(
                each.defect.outline,
                f"flaw {'weak' if each.defect.kind in WEAKENING else 'sound'}",
                f'data-flaw="{each.defect.id.rpartition("/")[2]}"',
                f"{each.defect.id} {kind_words(each.defect.kind)}",
            )
            for each in defects
            if each.defect.face in (face, Face.BOTH)
        )
        maybe = "".join(
            _path(
                offer.outline,
                "offer",
                f'data-offer="{offer.suggested.number}"',
                f"{offer.suggested.id} {kind_words(offer.suggested.kind)}?",
            )
            for offer in open_ones
            if offer.suggested.face is face
        )
        picture = ""
        if face in pictures:
            where = f'y="{_n(top)}" width="{_n(length_mm)}" height="{_n(width_mm)}"'
            picture = f'<image href="{escape(pictures[face])}" {where} preserveAspectRatio="none"/>'
        faces.append(
            f'<rect class="wood" y="{_n(top)}" width="{_n(length_mm)}" height="{_n(width_mm)}"/>{picture}'
            f'<g class="face" data-face="{face.value}"'
            f' transform="translate(0 {_n(top + width_mm)}) scale(1 -1)">'
            f'<g data-flaws="">{flaws}</g><g data-offers="">{maybe}</g></g>'
        )
    box = f"0 0 {_n(size[0])} {_n(size[1])}"
    svg = (
        f'<svg id="faces" viewBox="{box}" role="img" aria-label="{escape(told)}">'
        f'<g id="both-faces">{"".join(faces)}</g></svg>'
    )
    return FaceMap(svg, size, {face.value: top for face, top in tops.items()})


def _path(outline: Outline, classes: str, data: str, title: str) -> str:
    points = "L".join(f"{_n(x)} {_n(y)}" for x, y in outline)
    # A light line beneath a dark one shows on pale wood and on dark.
    return (
        f'<path class="halo" {data} d="M{points}Z"/>'
        f'<path class="{classes}" {data} d="M{points}Z"><title>{escape(title)}</title></path>'
    )


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")
