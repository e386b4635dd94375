"""Taking a table of costs apart into boxes that a linear model can hold."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from stockyard.selection.offers import boxes


def cost_in(box, place):
    cost = box.cost
    for at, first, pieces in zip(place, box.place, box.pieces, strict=True):
        left = at - first
        for length, price in pieces:
            step = min(left, length)
            cost, left = cost + step * price, left - step
        assert left == 0
    return cost


def holds(box, place):
    return all(
        first <= at <= first + sum(length for length, _ in pieces)
        for at, first, pieces in zip(place, box.place, box.pieces, strict=True)
    )


@settings(max_examples=60, deadline=None)
@given(
    arrays(
        float, st.tuples(st.integers(1, 5), st.integers(1, 5)), elements=st.sampled_from([0, 1, 2, np.inf])
    )
)
def test_every_finite_cost_lies_in_one_box_at_just_that_cost(costs):
    found = list(boxes(costs))
    for place in np.ndindex(costs.shape):
        at = [box for box in found if holds(box, place)]
        assert len(at) == int(np.isfinite(costs[place]))
        for box in at:
            assert abs(cost_in(box, place) - costs[place]) < 1e-6


def test_prices_rise_within_a_box():
    for box in boxes(np.array([4.0, 2.0, 1.0, 1.0, 3.0])):
        prices = [price for _, price in box.pieces[0]]
        assert prices == sorted(prices)


def test_a_sum_of_convex_costs_is_one_box():
    costs = np.add.outer(np.array([2.0, 1.0, 1.0]), np.array([0.0, 3.0]))
    assert len(list(boxes(costs))) == 1
