"""A suggestion is shown as the mapped defect it meets, and a crack on both faces as one."""

import numpy as np
import pytest
from shapely import Polygon

from stockyard.photos.detect import FaceSuggestion, Suggestion
from stockyard.photos.same import already_mapped, through_cracks
from stockyard.timber import DefectKind, Face, Outline
from tests.builders import a_box, a_defect


def suggested(outline: Outline, kind: DefectKind = DefectKind.CRACK) -> FaceSuggestion:
    seen = Suggestion(kind, np.array(outline), (0, 0, 1, 1), 0.9, (), 10, 1, None, False, False)
    return FaceSuggestion(outline, seen)


def test_a_suggestion_that_meets_a_mapped_defect_is_that_defect() -> None:
    mapped = (
        a_defect(id="b/1", outline=a_box(300, 80, 400, 84)),
        a_defect(id="b/2", outline=a_box(380, 70, 600, 90), face=Face.BOTH),
        a_defect(id="b/3", outline=a_box(300, 80, 400, 84), face=Face.B),
    )
    here = a_box(305, 79, 395, 85)
    matches = already_mapped([suggested(here), suggested(a_box(900, 10, 950, 12))], Face.A, mapped)
    assert [(match.suggestion, match.defect) for match in matches] == [(0, "b/1")]
    one, other = Polygon(here), Polygon(a_box(300, 80, 400, 84))
    assert matches[0].overlap == pytest.approx(one.intersection(other).area / one.union(other).area, abs=1e-4)


def test_near_is_as_good_as_met_and_far_is_not() -> None:
    mapped = (a_defect(id="b/1", outline=a_box(300, 80, 400, 84)),)
    near, far = suggested(a_box(300, 86, 400, 88)), suggested(a_box(300, 88, 400, 90))
    assert [match.defect for match in already_mapped([near], Face.A, mapped)] == ["b/1"]
    assert already_mapped([far], Face.A, mapped) == ()


def test_a_crack_seen_on_both_faces_is_offered_as_one() -> None:
    on_a = [suggested(a_box(100, 50, 200, 52)), suggested(a_box(500, 20, 600, 22), DefectKind.GUM_VEIN)]
    on_b = [
        suggested(a_box(500, 20, 600, 22)),
        suggested(a_box(120, 55, 260, 57)),
        suggested(a_box(120, 90, 260, 92)),
    ]
    (pair,) = through_cracks(on_a, on_b)
    assert (pair.on_a, pair.on_b) == (0, 1)
    around = Polygon(pair.outline)
    assert around.covers(Polygon(on_a[0].outline))
    assert around.covers(Polygon(on_b[1].outline))
