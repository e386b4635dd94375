"""Points become whole flaws, each told once."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from stockyard.photos.classes import CLASSES, TOLD_MM
from stockyard.photos.masks_to_defects import MEASURES, Patch, find_patches, outline_of


def clear(rows: int = 120, columns: int = 200) -> np.ndarray:
    told = np.zeros((len(CLASSES), rows, columns), np.float32)
    told[CLASSES.index("clear")] = 1
    return told


def lay(told: np.ndarray, name: str, rows: slice, columns: slice, likely: float = 0.9) -> None:
    told[:, rows, columns] = 0
    told[CLASSES.index(name), rows, columns] = likely
    told[CLASSES.index("clear"), rows, columns] = 1 - likely


def found(told: np.ndarray, least_mm: float = 1.0) -> list[Patch]:
    return find_patches(told, np.ones(told.shape[1:], bool), least_mm)


def test_a_clear_face_has_no_flaws() -> None:
    assert found(clear()) == []


def test_a_block_is_one_flaw_of_its_size_and_kind() -> None:
    told = clear()
    lay(told, "unsound_knot", slice(40, 60), slice(30, 42))
    (patch,) = found(told)
    assert patch.family == "knot"
    assert (patch.length_mm, patch.width_mm) == (12 * TOLD_MM[1], 20 * TOLD_MM[0])
    assert patch.shares[CLASSES.index("unsound_knot")] == pytest.approx(0.9, abs=1e-4)
    assert len(patch.measures) == len(MEASURES)
    outline = Polygon(outline_of(patch))
    assert outline.is_valid
    assert outline.bounds == pytest.approx((29.5, 39.5, 41.5, 59.5), abs=0.6)
    assert outline.area == pytest.approx(20 * 12, rel=0.05)


def test_a_crack_broken_by_a_short_gap_is_one_and_by_a_long_one_two() -> None:
    for gap, count in ((5, 1), (30, 2)):
        told = clear()
        lay(told, "crack", slice(50, 52), slice(20, 60))
        lay(told, "crack", slice(50, 52), slice(60 + gap, 120))
        assert len(found(told)) == count


def test_the_bark_rim_of_a_knot_is_part_of_it_and_bark_apart_is_not() -> None:
    told = clear()
    lay(told, "bark", slice(38, 62), slice(28, 44))
    lay(told, "unsound_knot", slice(40, 60), slice(30, 42))
    lay(told, "bark", slice(90, 100), slice(100, 120))
    assert sorted(patch.family for patch in found(told)) == ["bark", "knot"]


def test_what_lies_off_the_board_or_is_too_small_is_no_flaw() -> None:
    told = clear()
    lay(told, "bark", slice(0, 10), slice(0, 50))
    lay(told, "sound_knot", slice(50, 53), slice(50, 51))
    inside = np.ones(told.shape[1:], bool)
    inside[:12] = False
    assert find_patches(told, inside, 2.0) == []
    assert len(find_patches(told, inside, 1.0)) == 1


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(["sound_knot", "crack", "gum", "bark", "stain", "wane", "pith"]),
            st.integers(0, 5),
            st.integers(0, 4),
            st.integers(3, 9),
            st.integers(3, 9),
        ),
        max_size=12,
        unique_by=lambda one: one[1:3],
    )
)
def test_flaws_far_apart_are_told_one_by_one(laid: list[tuple[str, int, int, int, int]]) -> None:
    """Each in its own cell of 30 x 40 points: as many are found as were laid, each where it was."""
    told = clear(180, 200)
    for name, row, column, tall, wide in laid:
        lay(
            told,
            name,
            slice(30 * row + 5, 30 * row + 5 + tall),
            slice(40 * column + 5, 40 * column + 5 + wide),
        )
    places = {
        (int(p.rows.min()), int(p.rows.max()), int(p.columns.min()), int(p.columns.max()))
        for p in found(told)
    }
    assert places == {
        (30 * r + 5, 30 * r + 4 + tall, 40 * c + 5, 40 * c + 4 + wide) for _, r, c, tall, wide in laid
    }
