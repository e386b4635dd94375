"""A face read piece by piece, so that a long one needs no more memory than a short one."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from stockyard.photos.classes import CLASSES, READ_MM
from stockyard.photos.decode import Pixels
from stockyard.photos.opencv import cv2

Likely = npt.NDArray[np.float32]

_TILE = (1280, 768)  # rows and columns of a piece, at the most
_SEAM = 64  # pixels that neighbours share: 16 mm across, 32 mm along
_STEP = 16  # the network halves a picture four times


def at_reading_scale(lying: Pixels, mm: tuple[float, float]) -> Pixels:
    """A face with its grain along the columns, brought to READ_MM; mm: its own pixel (across, along)."""
    rows = max(_STEP, round(lying.shape[0] * mm[0] / READ_MM[0]))
    columns = max(_STEP, round(lying.shape[1] * mm[1] / READ_MM[1]))
    if (rows, columns) == lying.shape[:2]:
        return lying
    finer = rows > lying.shape[0] or columns > lying.shape[1]
    way = cv2.INTER_LINEAR if finer else cv2.INTER_AREA
    return np.asarray(cv2.resize(lying, (columns, rows), interpolation=way), np.uint8)


def told_of(face: Pixels, ask: Callable[[Likely], Likely]) -> Likely:
    """What each point of a face is: (len(CLASSES), rows / 2, columns / 2), adding up to 1 at every point.

    face: (rows, columns, 3) RGB at READ_MM. ask: (1, 3, rows, columns) 0..1 to logits at half scale. Pieces
    fade into one another where they overlap, so that no flaw is cut or told twice at a seam.
    """
    rows, columns = face.shape[:2]
    half = (-(-rows // 2), -(-columns // 2))
    sums = np.zeros((len(CLASSES), *half), np.float32)
    weights = np.zeros(half, np.float32)
    for top, bottom in _spans(rows, _TILE[0]):
        for left, right in _spans(columns, _TILE[1]):
            likely = _softmax(ask(_fitting(face[top:bottom, left:right])))
            tall, wide = -(-(bottom - top) // 2), -(-(right - left) // 2)
            fade = np.minimum(
                _fade(tall, top > 0, bottom < rows)[:, None], _fade(wide, left > 0, right < columns)[None]
            )
            place = (slice(top // 2, top // 2 + tall), slice(left // 2, left // 2 + wide))
            sums[(slice(None), *place)] += likely[:, :tall, :wide] * fade
            weights[place] += fade
    sums /= weights
    return sums


def _spans(size: int, most: int) -> list[tuple[int, int]]:
    if size <= most:
        return [(0, size)]
    count = -(-(size - _SEAM) // (most - _SEAM))
    step = (size - most) / (count - 1)
    starts = [2 * int(k * step / 2) for k in range(count)]
    # The last piece reaches the end, whatever starting at even pixels leaves over.
    return [(start, start + most) for start in starts[:-1]] + [(starts[-1], size)]


def _fade(size: int, before: bool, after: bool) -> Likely:
    at = np.arange(size, dtype=np.float32)
    far = np.full(size, _SEAM / 2, np.float32)
    if before:
        far = np.minimum(far, at + 0.5)
    if after:
        far = np.minimum(far, size - at - 0.5)
    return far / np.float32(_SEAM / 2)


def _fitting(piece: Pixels) -> Likely:
    """A piece as the network takes it, its rim repeated up to a whole number of steps."""
    down, right = (-piece.shape[0]) % _STEP, (-piece.shape[1]) % _STEP
    if down or right:
        piece = np.asarray(cv2.copyMakeBorder(piece, 0, down, 0, right, cv2.BORDER_REPLICATE), np.uint8)
    return np.ascontiguousarray(piece.transpose(2, 0, 1)[None]).astype(np.float32) * np.float32(1 / 255)


def _softmax(logits: Likely) -> Likely:
    one = np.exp(logits[0] - logits[0].max(axis=0))
    return np.asarray(one / one.sum(axis=0), np.float32)
