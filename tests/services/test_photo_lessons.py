"""What people said of suggestions becomes a score of the reader and a folder to train it on."""

import csv
import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from stockyard.errors import BadInput
from stockyard.photos.classes import CLASSES
from stockyard.records import Yard
from stockyard.services.decide_suggestions import (
    Which,
    accept_suggestions,
    edit_suggestions,
    reject_suggestions,
)
from stockyard.services.map_defects import Sketch, add_defect
from stockyard.services.photo_lessons import export_lessons, score_lessons
from stockyard.services.suggest_defects import Boards
from stockyard.timber.defect import DefectKind, Face
from tests.services.photographs import keep_photo, line, suggested
from tests.services.yards import receive

CLEAN = np.full((360, 4800, 3), (120, 90, 60), np.uint8)


def face_file() -> bytes:
    kept = io.BytesIO()
    Image.fromarray(CLEAN).save(kept, "JPEG")
    return kept.getvalue()


def opened(path: Path) -> np.ndarray:
    with Image.open(path) as picture:
        return np.asarray(picture)


def decided_board(yard: Yard) -> str:
    """Three suggested cracks: one accepted, one made a gum vein, one rejected; a knot mapped by hand."""
    board = receive(yard, "spotted gum,2400,180,32,48").pieces[0].number
    cracks = [
        suggested(line(x, x + 100, 40, 2), confidence=sure)
        for x, sure in ((100, 0.9), (500, 0.8), (900, 0.4))
    ]
    keep_photo(yard, board, Face.A, cracks, face_file())
    accept_suggestions(yard.open_work, Which((f"{board}:1",)))
    edit_suggestions(yard.open_work, Which((f"{board}:2",)), Sketch(kind=DefectKind.GUM_VEIN))
    reject_suggestions(yard.open_work, Which((f"{board}:3",)), because="a shadow")
    knot = Sketch(kind=DefectKind.SOUND_KNOT, face=Face.A, box=(1500, 90, 1540, 120))
    add_defect(yard.open_work, board, knot)
    return board


def test_the_score_counts_what_people_said(sqlite_yard: Yard) -> None:
    """Two of three right, two of three flaws suggested.

    By hand: the step from 0.8 holds 0.9 and 0.8, two right, that from 0.4 holds 0.4, none right; sureness is
    off by (|1.7 - 2| + |0.4 - 0|) / 3.
    """
    board = decided_board(sqlite_yard)
    score = score_lessons(sqlite_yard.open_work, Boards((board,)))
    assert score.faces == 1
    told = {each.kind: (each.accepted, each.corrected, each.rejected, each.missed) for each in score.kinds}
    assert told == {DefectKind.CRACK: (1, 1, 1, 0), DefectKind.SOUND_KNOT: (0, 0, 0, 1)}
    assert score.precision == pytest.approx(2 / 3)
    assert score.recall == pytest.approx(2 / 3)
    assert score.off_by == pytest.approx(0.7 / 3)


def test_the_folder_holds_pieces_of_the_face_with_marks_where_the_flaws_are(
    sqlite_yard: Yard, tmp_path: Path
) -> None:
    board = decided_board(sqlite_yard)
    made = export_lessons(sqlite_yard.open_work, Boards((board,)), tmp_path / "lessons")
    assert (made.faces, made.pieces) == (1, 8)
    with (made.folder / "index.csv").open() as file:
        names = [row["file"] for row in csv.DictReader(file)]
    marks = [opened(made.folder / "masks" / f"{Path(name).stem}.png") for name in names]
    for name, mark in zip(names, marks, strict=True):
        with Image.open(made.folder / "images" / name) as picture:
            assert picture.size == mark.shape[::-1]
    # 0.25 mm a pixel across, 0.5 mm along: the face is 720 x 4800, its pieces 600 long.
    whole = np.concatenate(marks, axis=1)
    assert whole.shape == (720, 4800)
    assert whole[round((180 - 41) / 0.25), round(150 / 0.5)] == CLASSES.index("crack")
    assert whole[round((180 - 41) / 0.25), round(550 / 0.5)] == CLASSES.index("gum")
    assert whole[round((180 - 41) / 0.25), round(950 / 0.5)] == CLASSES.index("clear")
    assert whole[round((180 - 105) / 0.25), round(1520 / 0.5)] == CLASSES.index("sound_knot")
    assert (whole[0] == 255).all()
    knot = (whole == CLASSES.index("sound_knot")).sum() * 0.25 * 0.5
    assert knot == pytest.approx(40 * 30, rel=0.03)


def test_a_folder_of_lessons_is_read_by_training(sqlite_yard: Yard, tmp_path: Path) -> None:
    from stockyard.photos.training.marked import read_marked

    board = decided_board(sqlite_yard)
    export_lessons(sqlite_yard.open_work, Boards((board,)), tmp_path / "lessons")
    marked = read_marked(tmp_path / "lessons")
    assert marked.mm == (0.25, 0.5)
    assert marked.pictures.shape == (8, 720, 600, 3)
    assert (marked.labels == CLASSES.index("sound_knot")).any()


def test_nothing_decided_is_no_lesson_and_a_full_folder_is_left_alone(
    sqlite_yard: Yard, tmp_path: Path
) -> None:
    board = receive(sqlite_yard, "spotted gum,2400,180,32,48").pieces[0].number
    keep_photo(sqlite_yard, board, Face.A, [suggested(line(100, 200, 40))], face_file())
    score = score_lessons(sqlite_yard.open_work, Boards((board,)))
    assert (score.faces, score.precision, score.off_by) == (0, None, None)
    with pytest.raises(BadInput, match="accept or reject them first"):
        export_lessons(sqlite_yard.open_work, Boards((board,)), tmp_path / "lessons")
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "kept.txt").write_text("mine")
    with pytest.raises(BadInput, match="name a new folder"):
        export_lessons(sqlite_yard.open_work, Boards((board,)), tmp_path / "full")
    assert [path.name for path in (tmp_path / "full").iterdir()] == ["kept.txt"]
