"""Real faces with drawn flaws added: what the marked boards lack (bark, wane, open splits) on real wood."""

from multiprocessing import get_context

import cv2
import numpy as np

from stockyard.photos.classes import CLASSES
from stockyard.photos.training.drawn import bark_seam
from stockyard.photos.training.marked import Bytes, Marked
from tests.photos.render import flaws
from tests.photos.render.board import to_rgb
from tests.photos.render.flaws import Canvas

_CLASS_OF = {
    "bark_inclusion": "bark",
    "wane": "wane",
    "crack": "crack",
    "split": "crack",
    "gum_pocket": "gum",
}


def dress_faces(marked: Marked, chosen: list[int], workers: int = 1) -> Marked:
    """Each chosen face once more, with one to three flaws drawn on it."""
    asked = [(marked.pictures[k], marked.labels[k], marked.mm, k) for k in chosen]
    if workers > 1:
        with get_context("spawn").Pool(workers) as pool:
            done = pool.starmap(_dressed, asked, chunksize=4)
    else:
        done = [_dressed(*one) for one in asked]
    return Marked(
        tuple(f"{marked.names[k]}-dressed" for k in chosen),
        np.stack([picture for picture, _ in done]),
        np.stack([labels for _, labels in done]),
        marked.mm,
    )


def _dressed(picture: Bytes, labels: Bytes, mm: tuple[float, float], seed: int) -> tuple[Bytes, Bytes]:
    cv2.setNumThreads(1)
    rng = np.random.default_rng((23, seed))
    board = np.nonzero((labels != CLASSES.index("ground")).mean(axis=1) > 0.5)[0]
    top, bottom = (int(board[0]), int(board[-1]) + 1) if len(board) > 40 else (0, labels.shape[0])
    rows, columns = bottom - top, labels.shape[1]
    even = (round(columns * mm[1] / mm[0]), rows)
    square = cv2.resize(picture[top:bottom], even, interpolation=cv2.INTER_LINEAR)
    lab = np.asarray(cv2.cvtColor(square.astype(np.float32) / 255, cv2.COLOR_RGB2Lab), np.float32)
    canvas = Canvas(lab, np.zeros(lab.shape[:2], np.float32), mm[0])
    usual = float(np.median(lab[..., 0]))
    knots = np.argwhere(np.isin(labels[top:bottom], (2, 3)))
    for _ in range(int(rng.integers(1, 4))):
        x, y = rng.uniform(0, canvas.length_mm), rng.uniform(0.03, 0.97) * canvas.width_mm
        if len(knots) and rng.random() < 0.35:
            row, column = knots[rng.integers(len(knots))]
            x, y = column * mm[1] + rng.normal(0, 5), canvas.width_mm - row * mm[0] + rng.normal(0, 6)
        kind = rng.choice(["bark", "wane", "crack", "pocket"], p=[0.6, 0.1, 0.2, 0.1])
        if kind == "bark" and rng.random() < 0.6:
            bark_seam(canvas, rng, x, y)
        elif kind == "bark":
            along = float(np.exp(rng.uniform(np.log(3), np.log(40))))
            dark = (rng.uniform(6, 20) + rng.uniform(0, 0.3) * usual, rng.uniform(2, 12), rng.uniform(4, 22))
            across = along * rng.uniform(0.1, 0.5)
            flaws.blob(canvas, rng, "bark_inclusion", x, y, along, across, dark, rng.uniform(0.7, 0.97),
                       rng.uniform(0.15, 0.4), rng.uniform(0.2, 0.7), 0.4)  # fmt: skip
        elif kind == "wane":
            reach = rng.uniform(60, 300)
            flaws.wane(canvas, rng, x - reach / 2, x + reach / 2, rng.uniform(3, 14), int(rng.integers(1, 3)))
        elif kind == "crack":
            reach = float(np.exp(rng.uniform(np.log(15), np.log(150))))
            x0, x1 = max(0.0, x - reach / 2), min(canvas.length_mm, x + reach / 2)
            if x1 - x0 > 8:
                flaws.crack(canvas, rng, x0, x1, y, float(np.exp(rng.uniform(np.log(0.3), np.log(1.5)))))
        else:
            flaws.blob(canvas, rng, "gum_pocket", x, y, rng.uniform(3, 20), rng.uniform(0.8, 3),
                       (usual * 0.45, 16, 26), 0.85, 0.1)  # fmt: skip
    drawn = to_rgb(lab)
    marks: Bytes = np.zeros(lab.shape[:2], np.uint8)
    for truth in canvas.truths:
        points = np.array(truth.outline_mm) / mm[0]
        points[:, 1] = rows - points[:, 1]
        place = [np.round((points - 0.5) * 16).astype(np.int32)]
        cv2.fillPoly(marks, place, CLASSES.index(_CLASS_OF[truth.kind]), shift=4)
        if truth.kind == "crack":
            cv2.polylines(marks, place, True, CLASSES.index("crack"), 2, shift=4)
    marks = np.asarray(cv2.resize(marks, (columns, rows), interpolation=cv2.INTER_NEAREST), np.uint8)
    out, told = picture.copy(), labels.copy()
    out[top:bottom] = cv2.resize(drawn, (columns, rows), interpolation=cv2.INTER_AREA)
    new = (marks > 0) & (told[top:bottom] != CLASSES.index("ground"))
    told[top:bottom][new] = marks[new]
    return out, told
