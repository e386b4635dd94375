"""Windows of a face: the part asked for and no other."""

import io

import numpy as np
import pytest
from fastapi.testclient import TestClient
from PIL import Image

from stockyard.records import Yard
from stockyard.services.show_face import pictured
from stockyard.timber.defect import Face
from tests.services.photographs import as_file, keep_photo

RED, GREEN, BLUE, GREY = (200, 30, 30), (30, 160, 30), (30, 30, 200), (128, 128, 128)
WINDOWS = {
    "0-90-1200-180": RED,  # end 1, the far edge: the picture's first rows
    "1200-90-2400-180": GREEN,
    "0-0-1200-90": BLUE,
    "1200-0-2400-90": GREY,
}


@pytest.fixture
def shown(stocked: Yard) -> Yard:
    """SG-0001, 2400 x 180 mm, whose face A has another colour in each quarter, at 0.5 mm to the pixel."""
    face = np.zeros((360, 4800, 3), np.uint8)
    face[:180, :2400], face[:180, 2400:] = RED, GREEN
    face[180:, :2400], face[180:, 2400:] = BLUE, GREY
    keep_photo(stocked, "SG-0001", Face.A, None, as_file(face, "JPEG", quality=95))
    return stocked


@pytest.mark.parametrize("window", WINDOWS)
def test_a_window_shows_its_part_of_the_face(shown: Yard, browser: TestClient, window: str) -> None:
    answer = browser.get(f"/api/boards/SG-0001/faces/A/{window}.jpg?longest=400")
    assert answer.headers["content-type"] == "image/jpeg"
    picture = np.asarray(Image.open(io.BytesIO(answer.content)))
    assert picture.shape[:2] == (30, 400)
    assert np.abs(picture[5:-5, 5:-5].mean(axis=(0, 1)) - WINDOWS[window]).max() < 6


def test_whoever_has_it_already_gets_no_picture_again(shown: Yard, browser: TestClient) -> None:
    path = "/api/boards/SG-0001/faces/A/0-0-600-90.jpg"
    etag = browser.get(path).headers["etag"]
    again = browser.get(path, headers={"If-None-Match": etag})
    assert (again.status_code, again.content) == (304, b"")


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("SG-0001/faces/B/0-0-600-90.jpg", 422),
        ("SG-0001/faces/both/0-0-600-90.jpg", 422),
        ("SG-0001/faces/A/0-0-0-90.jpg", 422),
        ("SG-0001/faces/A/5000-500-6000-600.jpg", 422),
        ("SG-0001/faces/A/0-0-600-90.jpg?longest=9", 422),
        ("NONE/faces/A/0-0-600-90.jpg", 404),
    ],
)
def test_what_is_not_there_is_a_problem(shown: Yard, browser: TestClient, path: str, status: int) -> None:
    assert browser.get(f"/api/boards/{path}").status_code == status


def test_only_faces_with_a_picture_are_pictured(shown: Yard) -> None:
    assert set(pictured(shown.open_work, ("SG-0001", "SG-0002"))) == {("SG-0001", Face.A)}
