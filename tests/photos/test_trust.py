"""What cannot be trusted is refused with every reason at once, and what is a little off is remarked on."""

import numpy as np
import pytest

from stockyard.errors import BadInput
from stockyard.photos.trust import TrustLimits, Way, check_trust, glare_share

WOOD = np.full((200, 800, 3), 140, np.uint8)
GOOD = {"seen_mm_per_px": (0.4, 0.45), "disagrees_pct": (0.2, 0.4), "blur_px": 0.8, "way": Way.CARDS}


def checked(laid: np.ndarray = WOOD, **changed: object) -> tuple[str, ...]:
    return check_trust(laid, limits=TrustLimits(), **(GOOD | changed))  # type: ignore[arg-type]


def lit(share: float) -> np.ndarray:
    laid = WOOD.copy()
    laid[:, : round(800 * share)] = 255
    return laid


def test_a_good_picture_needs_no_word() -> None:
    assert checked() == ()


@pytest.mark.parametrize(
    ("laid", "changed", "where"),
    [
        (WOOD, {"seen_mm_per_px": (1.8, 0.9)}, "sharpness"),
        (WOOD, {"blur_px": 6.0}, "blur"),
        (lit(0.1), {}, "glare"),
        (WOOD, {"disagrees_pct": (-6.0, -6.2)}, "card size"),
        (WOOD, {"disagrees_pct": (-6.0, 0.3)}, "size"),
        (WOOD, {"disagrees_pct": (0.0, 7.0)}, "size"),
        (WOOD, {"way": Way.OUTLINE, "disagrees_pct": (9.0, 0.0)}, "proportions"),
        (WOOD, {"way": Way.CORNERS, "disagrees_pct": (-15.0, 0.0)}, "proportions"),
    ],
)
def test_each_reason_is_named_with_what_was_expected_and_found(
    laid: np.ndarray, changed: dict[str, object], where: str
) -> None:
    with pytest.raises(BadInput) as refused:
        checked(laid, **changed)
    (fault,) = refused.value.faults
    assert fault.where == where
    assert fault.expected
    assert fault.found


def test_every_reason_is_given_at_once() -> None:
    with pytest.raises(BadInput) as refused:
        checked(lit(0.2), seen_mm_per_px=(2.0, 2.0), blur_px=9.0)
    assert [fault.where for fault in refused.value.faults] == ["sharpness", "blur", "glare"]


def test_corners_by_hand_may_be_rougher_than_what_is_measured() -> None:
    assert checked(way=Way.CORNERS, disagrees_pct=(9.0, 0.0)) == ()


def test_a_little_glare_and_a_little_off_in_length_are_remarked_on() -> None:
    (glare,) = checked(lit(0.02))
    assert "does not show" in glare
    (length,) = checked(disagrees_pct=(-1.8, 0.2))
    assert "-1.8 %" in length


def test_sawdust_is_no_glare() -> None:
    specks = WOOD.copy()
    specks[::20, ::20] = 255
    assert glare_share(specks) == 0.0
    assert glare_share(lit(0.25)) == pytest.approx(0.25, abs=0.01)
