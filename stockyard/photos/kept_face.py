"""A true-scale face as it is kept: its file, its small view, its bare wood, and outlines drawn on it."""

import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw, ImageFont

from stockyard.photos.decode import Pixels
from stockyard.timber import Outline, Window

THUMB_PX = 480  # the longer side of a small view
_FACE_QUALITY = 95  # of the JPEG that detection reads again; at that, colour is kept at full size too


class AtScale(Protocol):
    """What can be read for defects: a true-scale face, a strip, or a face that was kept."""

    @property
    def pixels(self) -> Pixels:
        """(rows, columns, 3) RGB; column = x / mm_per_px, row = (width - y) / mm_per_px."""

    @property
    def mm_per_px(self) -> float:
        """Of the picture, both ways."""

    @property
    def length_mm(self) -> float:
        """Of the board."""

    @property
    def width_mm(self) -> float:
        """Of the board."""

    @property
    def covered(self) -> tuple[Outline, ...]:
        """Outlines of cards lying on the face [mm]."""


@dataclass(frozen=True, slots=True)
class KeptFace:
    """A face at true scale, opened again. See AtScale."""

    pixels: Pixels
    mm_per_px: float
    length_mm: float
    width_mm: float
    covered: tuple[Outline, ...] = ()


def as_jpeg(pixels: Pixels) -> bytes:
    """A face as a JPEG of high quality. pixels: (rows, columns, 3) RGB."""
    kept = io.BytesIO()
    Image.fromarray(pixels).save(kept, "JPEG", quality=_FACE_QUALITY, subsampling=0)
    return kept.getvalue()


def small_view(pixels: Pixels, longest_px: int = THUMB_PX) -> bytes:
    """A picture brought to `longest_px` on its longer side, never enlarged, as a JPEG."""
    image = Image.fromarray(pixels)
    image.thumbnail((longest_px, longest_px), reducing_gap=2.0)
    kept = io.BytesIO()
    image.save(kept, "JPEG", quality=80)
    return kept.getvalue()


def open_face(content: bytes) -> Pixels:
    """The pixels of a face that `as_jpeg` kept."""
    with Image.open(io.BytesIO(content)) as image:
        return np.asarray(image.convert("RGB"))


def bare_wood(face: AtScale, besides: Iterable[Outline] = (), rim_mm: float = 2.0) -> npt.NDArray[np.uint8]:
    """255 where bare wood is seen: off the cards, off the outlines `besides` [mm], and inside the rim."""
    rows, columns = face.pixels.shape[:2]
    drawn = Image.new("L", (columns, rows), 0)
    pen = ImageDraw.Draw(drawn)
    rim = rim_mm / face.mm_per_px
    pen.rectangle((rim, rim, columns - 1 - rim, rows - 1 - rim), fill=255)
    for outline in (*face.covered, *besides):
        pen.polygon(_in_picture(outline, face.mm_per_px, face.width_mm), fill=0, outline=0)
    return np.asarray(drawn)


def card_white(face: AtScale) -> tuple[float, float, float] | None:
    """What the white of the cards on a face looks like, RGB 0..255; None without cards.

    Over half of a card is white, most of the rest black: its lighter part without the brightest is white.
    """
    rows, columns = face.pixels.shape[:2]
    drawn = Image.new("L", (columns, rows), 0)
    pen = ImageDraw.Draw(drawn)
    for outline in face.covered:
        pen.polygon(_in_picture(outline, face.mm_per_px, face.width_mm), fill=255)
    seen = face.pixels[np.asarray(drawn) > 0].astype(float)
    if len(seen) < 50:
        return None
    tone = seen.sum(axis=1)
    low, high = np.percentile(tone, (70, 92))
    red, green, blue = np.median(seen[(tone >= low) & (tone <= high)], axis=0)
    return float(red), float(green), float(blue)


def cut_out(face: AtScale, window: Window) -> KeptFace:
    """The part of a face that lies in a window of its board, in the frame of the piece cut there."""
    rows = face.pixels.shape[0]
    left, right = round(window.x0 / face.mm_per_px), round(window.x1 / face.mm_per_px)
    top, bottom = rows - round(window.y1 / face.mm_per_px), rows - round(window.y0 / face.mm_per_px)
    part = np.ascontiguousarray(face.pixels[max(0, top) : max(bottom, top + 1), max(0, left) : right])
    moved = tuple(tuple((x - window.x0, y - window.y0) for x, y in outline) for outline in face.covered)
    return KeptFace(part, face.mm_per_px, window.length_mm, window.width_mm, moved)


def reduced(face: AtScale, longest_px: int = 2400) -> KeptFace:
    """The face with no more than `longest_px` along the board."""
    return _at(face, max(face.mm_per_px, face.length_mm / longest_px))


def _at(face: AtScale, mm_per_px: float) -> KeptFace:
    """The face brought to another scale."""
    size = max(1, round(face.length_mm / mm_per_px)), max(1, round(face.width_mm / mm_per_px))
    small = Image.fromarray(face.pixels).resize(size, Image.Resampling.LANCZOS, reducing_gap=2.0)
    return KeptFace(np.asarray(small), mm_per_px, face.length_mm, face.width_mm, face.covered)


def marked(face: AtScale, marks: Sequence[tuple[str, Outline, tuple[int, int, int]]]) -> Pixels:
    """The face with outlines drawn on it, each with its words beside it.

    marks: (words, outline [mm], colour RGB).
    """
    image = Image.fromarray(face.pixels).convert("RGB")
    pen = ImageDraw.Draw(image)
    size = int(np.clip(9 / face.mm_per_px, 14, 40))
    font = ImageFont.load_default(size)
    taken: list[tuple[float, float, float, float]] = []
    drawn = [(words, _in_picture(outline, face.mm_per_px, face.width_mm), colour)
             for words, outline, colour in marks]  # fmt: skip
    for _, points, colour in drawn:
        pen.polygon(points, outline=colour, width=int(np.clip(0.8 / face.mm_per_px, 2, 5)))
    for words, points, colour in drawn:
        wide, high = pen.textlength(words, font) + 4, 1.25 * size
        left = max(0.0, min(max(x for x, _ in points) + 4, image.width - wide))
        top = _free(taken, left, min(y for _, y in points) - size / 2, wide, high, image.height)
        pen.rectangle((left, top, left + wide, top + high), fill=(255, 255, 255))
        pen.text((left + 2, top), words, fill=colour, font=font)
    return np.asarray(image)


def sheet(
    faces: Sequence[tuple[str, AtScale, Sequence[tuple[str, Outline, tuple[int, int, int]]]]],
    longest_px: int = 2400,
) -> Pixels:
    """Several faces below each other at one scale, each with its words above and its marks drawn on.

    faces: at least one, each (words, face, marks as `marked` takes them). longest_px: the longest face's
    length on the sheet.
    """
    mm_per_px = max(max(face.length_mm for _, face, _ in faces) / longest_px,
                    min(face.mm_per_px for _, face, _ in faces))  # fmt: skip
    drawn = []
    for words, face, marks in faces:
        laid = _at(face, mm_per_px)
        drawn.append((words, Image.fromarray(marked(laid, marks))))
    line, gap = 30, 14
    page = Image.new(
        "RGB",
        (max(image.width for _, image in drawn) + 2 * gap,
         sum(image.height + line + gap for _, image in drawn) + gap),
        "white",
    )  # fmt: skip
    pen, font, top = ImageDraw.Draw(page), ImageFont.load_default(20), gap
    for words, image in drawn:
        pen.text((gap, top), words, fill=(0, 0, 0), font=font)
        page.paste(image, (gap, top + line))
        top += image.height + line + gap
    return np.asarray(page)


def _free(
    taken: list[tuple[float, float, float, float]],
    left: float,
    top: float,
    wide: float,
    high: float,
    most: int,
) -> float:
    """Where words of that size stand nearest to `top` without covering others; noted as taken."""
    steps = sorted(range(-12, 13), key=abs)
    for step in (*steps, 0):
        at = min(max(top + step * high, 0.0), max(0.0, most - high))
        if not any(left < x + w and x < left + wide and at < y + h and y < at + high for x, y, w, h in taken):
            break
    taken.append((left, at, wide, high))
    return at


def _in_picture(outline: Outline, mm_per_px: float, width_mm: float) -> list[tuple[float, float]]:
    return [(x / mm_per_px - 0.5, (width_mm - y) / mm_per_px - 0.5) for x, y in outline]
