"""A job so plain that every plan can be listed: a top of two staves, and boards that give just one each.

A board of 460 x 108 mm holds one stave of 400 x 100 (10 mm trimmed and 20 docked at each end, 5 at the outer
edge and 3 at the glued one) and leaves nothing worth racking. So a plan is a pair of boards, and costs their
values, 4.00 for handling each, and what treating their flaws and matching their colours comes to.
"""

from decimal import Decimal
from itertools import combinations

from stockyard.measures.colour import colour_difference
from stockyard.timber import DefectKind, Do, Rule, Rules
from tests.builders import a_board, a_box, a_defect, a_job, a_panel

TOP = a_panel(
    length_mm=400,
    width_mm=200,
    staves_min=2,
    staves_max=2,
    stave_width_min_mm=100,
    stave_width_max_mm=100,
)
TREATED = Rule(Do.TREAT, per_item=Decimal(3))
JOB = a_job(TOP, rules=Rules({DefectKind.GUM_VEIN: TREATED}, {DefectKind.GUM_VEIN: TREATED}))


def a_short_board(name, value, *, veins=0, lightness=50.0, **changes):
    """A board of one stave, with so many gum veins to be treated."""
    defects = tuple(
        a_defect(
            id=f"{name}/{n}",
            kind=DefectKind.GUM_VEIN,
            outline=a_box(100 + 40 * n, 40, 110 + 40 * n, 44),
        )
        for n in range(veins)
    )
    colour = (lightness, 12.0, 20.0)
    return a_board(
        **{
            "id": name,
            "length_mm": 460,
            "width_mm": 108,
            "value": Decimal(value),
            "defects": defects,
            "colour_a": colour,
            "colour_b": colour,
        }
        | changes
    )


def cost_of_pair(one, other):
    """By hand."""
    cost = float(one.value + other.value) + 8 + 3 * (len(one.defects) + len(other.defects))
    return cost + 0.2 * colour_difference(one.colour_a, other.colour_a)


def all_pairs(boards):
    """Every plan there is: the two boards, cost, treatments, colour difference."""
    return [
        (
            {one.id, other.id},
            cost_of_pair(one, other),
            len(one.defects) + len(other.defects),
            colour_difference(one.colour_a, other.colour_a),
        )
        for one, other in combinations(boards, 2)
    ]
