"""The colour of a face, and which way its figure runs."""

from dataclasses import dataclass

import numpy as np

from stockyard.errors import BadInput
from stockyard.measures.colour import Lab
from stockyard.photos.decode import Pixels
from stockyard.photos.evidence import Field, Mask
from stockyard.photos.opencv import cv2

PAPER = 0.86  # of the light falling on it that uncoated white paper sends back, about


@dataclass(frozen=True, slots=True)
class FaceColour:
    """lab: the mean, CIELAB under D65. corrected: balanced by a card's white; False: as the camera gave it.

    spread: how far points lie from the mean, root mean square [dE76].
    """

    lab: Lab
    corrected: bool
    spread: float


@dataclass(frozen=True, slots=True)
class Figure:
    """angle_deg: of the lines on the face to the board's length, -90..90, rising with y positive.

    strength: 0, no direction at all, to 1, all one way. across_share: of the tone's change that runs
    along the board, as fiddleback and saw marks make it, 0..1.
    """

    angle_deg: float
    strength: float
    across_share: float


def to_lab(pixels: Pixels, white: tuple[float, float, float] | None = None) -> Field:
    """RGB pixels as CIELAB under D65, (rows, columns, 3) float32.

    white: what a sheet of white paper looks like in the same light, RGB 1..255; each channel's light is then
    scaled so that it comes out grey, as light as paper is.
    Source of the conversion: IEC 61966-2-1 (sRGB) and CIE 15, as OpenCV computes them.
    """
    light = _linear(np.asarray(pixels, np.float32) / np.float32(255))
    if white is not None:
        if not all(20 <= one <= 255 for one in white):
            raise BadInput("The card's white is too dark to balance colours by; give the face more light.")
        paper = _linear(np.array([[white]], np.float32) / np.float32(255))
        light = light * (PAPER / paper)
    return np.asarray(cv2.cvtColor(np.clip(light, 0, 1).astype(np.float32), cv2.COLOR_LRGB2Lab))


def face_colour(pixels: Pixels, mask: Mask, white: tuple[float, float, float] | None = None) -> FaceColour:
    """The mean colour of the wood. mask: 255 where wood is seen, cards and defects left out.

    Raises BadInput where no wood is left.
    """
    wood = pixels[mask > 0]
    if len(wood) < 100:
        raise BadInput("Too little bare wood shows to tell its colour.")
    lab = to_lab(wood[:: 1 + len(wood) // 200_000][None], white)[0].astype(float)
    mean = lab.mean(axis=0)
    spread = float(np.sqrt(((lab - mean) ** 2).sum(axis=1).mean()))
    return FaceColour((round(float(mean[0]), 2), round(float(mean[1]), 2), round(float(mean[2]), 2)),
                      white is not None, round(spread, 2))  # fmt: skip


def figure_direction(pixels: Pixels, mm_per_px: float) -> Figure:
    """A quick look at which way the lines on a true-scale face run, from the structure tensor of its tone.

    pixels: (rows, columns, 3) RGB, a true-scale face. Lines of 1 to 10 mm count.
    Source: Bigun and Granlund (1987), optimal orientation detection of linear symmetry.
    """
    shrink = min(1.0, mm_per_px / 0.8)
    small = cv2.resize(pixels, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    tone = np.log(cv2.cvtColor(small, cv2.COLOR_RGB2GRAY).astype(np.float32) + 4)
    tone = cv2.GaussianBlur(tone, (0, 0), 1.0) - cv2.GaussianBlur(tone, (0, 0), 12.0)
    along = cv2.Sobel(tone, cv2.CV_32F, 1, 0, ksize=3)
    up = -cv2.Sobel(tone, cv2.CV_32F, 0, 1, ksize=3)
    # One dark flaw must not outvote the wood.
    limit = float(np.percentile(np.hypot(along, up), 95)) + 1e-9
    shorten = np.minimum(1, limit / np.maximum(np.hypot(along, up), 1e-9))
    along, up = (along * shorten)[3:-3, 3:-3], (up * shorten)[3:-3, 3:-3]
    xx, yy, xy = float((along**2).mean()), float((up**2).mean()), float((along * up).mean())
    total = xx + yy
    if total <= 0:
        return Figure(0.0, 0.0, 0.0)
    strength = float(np.hypot(xx - yy, 2 * xy) / total)
    across_the_lines = 0.5 * np.degrees(np.arctan2(2 * xy, xx - yy))
    angle = (across_the_lines + 90 + 90) % 180 - 90
    return Figure(round(float(angle), 1), round(strength, 3), round(xx / total, 3))


def _linear(srgb: Field) -> Field:
    return np.asarray(np.where(srgb <= 0.04045, srgb / 12.92, ((srgb + 0.055) / 1.055) ** 2.4), np.float32)
