"""Against the published pairs, and against another library on colours that nobody chose."""

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skimage.color import deltaE_ciede2000

from stockyard.measures.colour import Lab, colour_difference

TABLE = Path(__file__).parent / "tables" / "ciede2000_pairs.csv"


def pairs() -> list[tuple[Lab, Lab, float]]:
    with TABLE.open(encoding="utf-8") as file:
        rows = csv.DictReader(line for line in file if not line.startswith("#"))
        return [
            (
                (float(row["L1"]), float(row["a1"]), float(row["b1"])),
                (float(row["L2"]), float(row["a2"]), float(row["b2"])),
                float(row["dE00"]),
            )
            for row in rows
        ]


@pytest.mark.parametrize(("first", "second", "published"), pairs())
def test_every_published_pair_is_met_to_its_last_digit(first: Lab, second: Lab, published: float) -> None:
    assert colour_difference(first, second) == pytest.approx(published, abs=5e-5)
    assert colour_difference(second, first) == pytest.approx(published, abs=5e-5)


wood = st.tuples(
    st.floats(5, 95, allow_nan=False),
    st.floats(-30, 60, allow_nan=False),
    st.floats(-30, 80, allow_nan=False),
)


@settings(max_examples=200, deadline=None)
@given(wood, wood)
def test_another_library_sees_the_same_difference(first: Lab, second: Lab) -> None:
    other = float(deltaE_ciede2000(np.array(first), np.array(second)))
    assert colour_difference(first, second) == pytest.approx(other, abs=1e-6)
