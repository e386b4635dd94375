"""Orders of staves, and what stands beside what."""

from stockyard.selection.instance import as_whole
from stockyard.selection.joints import best_order, breaks_rings
from stockyard.selection.windows import companies
from stockyard.timber import Face, MoistureRule, Rings, Stock
from tests.builders import a_board, a_job


def test_the_cheapest_order_keeps_the_two_ends_outermost():
    costs = [[0, 9, 1, 5], [9, 0, 5, 1], [1, 5, 0, 2], [5, 1, 2, 0]]
    assert best_order(costs, (0, 1)) == (4, (0, 2, 3, 1))  # 1 + 2 + 1, against 5 + 2 + 5


def test_a_lone_stave_is_its_own_row():
    assert best_order([[0]], ()) == (0.0, (0,))


def test_a_joint_with_an_unknown_heart_breaks_the_rule():
    stock = Stock((a_board(id="a", heart_face=Face.A), a_board(id="b")))
    one, other = as_whole(stock, a_job()).timbers
    assert breaks_rings(Rings.SAME, (one, Face.A), (other, Face.A))
    assert not breaks_rings(Rings.ANY, (one, Face.A), (other, Face.A))
    assert not breaks_rings(Rings.SAME, (one, Face.A), (one, Face.A))
    assert breaks_rings(Rings.ALTERNATE, (one, Face.A), (one, Face.A))


def test_boards_keep_company_within_the_spread():
    stock = Stock(tuple(a_board(id=f"b{n}", moisture_pct=m) for n, m in enumerate((9.0, 10.1, 11.0, 12.1))))
    instance = as_whole(stock, a_job(moisture=MoistureRule(spread_pct=2)))
    sets = companies(instance, instance.demands[0], instance.timbers)
    assert sorted(map(sorted, sets)) == [[0, 1, 2], [1, 2, 3]]  # 12.1 is 2.0 above 10.1, 3.1 above 9.0
