import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.errors import BadInput
from stockyard.moisture.lot_class import judge_lot, lot_class
from tests.published import published

TARGETS = published("moisture", "lot_targets.csv")


def judged(percents, target):
    (found,) = [one for one in judge_lot(percents) if one.target.target_pct == target]
    return found


def row_of(target):
    (row,) = [row for row in TARGETS if float(row["target_pct"]) == target]
    return {name: float(row[name]) for name in row if name != "evidence"}


@pytest.mark.parametrize("target", [8.0, 12.0, 16.0])
def test_a_lot_at_the_limits_of_its_mean_meets_its_target_and_beyond_them_it_does_not(target):
    row = row_of(target)

    for mean in (row["mean_low_pct"], row["mean_high_pct"]):
        assert judged([mean] * 10, target).met
    for mean in (row["mean_low_pct"] - 0.1, row["mean_high_pct"] + 0.1):
        assert not judged([mean] * 10, target).met
        assert "The mean is" in judged([mean] * 10, target).why_not[0]


@pytest.mark.parametrize("target", [8.0, 12.0, 16.0])
def test_thirteen_pieces_of_two_hundred_may_lie_outside_and_not_fourteen(target):
    # 93.5 % of 200 is 187.
    row = row_of(target)
    outside = [row["piece_low_pct"] - 0.1] * 7 + [row["piece_high_pct"] + 0.1] * 6
    inside = [row["piece_low_pct"], row["piece_high_pct"]] + [target] * 185

    assert judged(outside + inside, target).met
    fourteen = judged([*outside, row["piece_high_pct"] + 0.1, *inside[1:]], target)
    assert not fourteen.met
    assert fourteen.share == pytest.approx(0.93)


@pytest.mark.parametrize("target", [8.0, 12.0, 16.0])
def test_the_limits_of_pieces_are_thirty_percent_to_either_side(target):
    row = row_of(target)

    assert row["piece_low_pct"] == pytest.approx(0.7 * target)
    assert row["piece_high_pct"] == pytest.approx(1.3 * target)


def test_what_a_lot_meets_is_named():
    assert lot_class([12.0] * 5) == "12"
    assert lot_class([10.0] * 5) == "none"
    assert lot_class([13.5] * 5) == "12 and 16"
    assert lot_class([]) == ""


@given(st.lists(st.floats(0, 200), min_size=1, max_size=30))
def test_every_target_not_met_says_why(percents):
    for one in judge_lot(percents):
        assert one.met != bool(one.why_not)
        assert 0 <= one.share <= 1


@pytest.mark.parametrize("percents", [[], [float("nan")], [-1.0], [201.0]])
def test_what_is_no_lot_is_refused(percents):
    with pytest.raises(BadInput):
        judge_lot(percents)
