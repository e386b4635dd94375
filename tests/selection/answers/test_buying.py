"""What to buy, against chances known in closed form."""

from decimal import Decimal
from math import exp
from random import Random

import pytest

from stockyard.selection.answers.buying import chance_of, purchase_of
from stockyard.selection.answers.likely import FlawRate, History, Offer, board_like, poisson
from stockyard.timber import DefectKind, Stock
from tests.builders import a_board, a_box, a_defect, a_job, a_panel

# One stave as large as its board allows: 400 x 200 from 460 x 210. Decay of 10 x 10 mm anywhere in it ends
# it, so a board does when none of its decay meets the finished 400 mm, which it does at 410 of 450 places.
LONE = a_panel(
    length_mm=400, width_mm=200, staves_min=1, staves_max=1, stave_width_min_mm=200, stave_width_max_mm=200
)
NOTHING = History({})


def an_offer(rate, price="30", **changes):
    flaws = (FlawRate(DefectKind.DECAY, rate, 10, 10),) if rate else ()
    values = {
        "line": 2,
        "supplier": "Riverbend Mill",
        "species": "spotted gum",
        "length_mm": 460.0,
        "width_mm": 210.0,
        "thickness_mm": 32.0,
        "price": Decimal(price),
        "flaws": flaws,
    }
    return Offer(**(values | changes))


def chance_of_one(rate):
    return exp(-rate * 0.460 * 0.210 * 410 / 450)


@pytest.mark.parametrize(("rate", "asked"), [(3.0, 0.7), (10.0, 0.8)])
def test_as_many_boards_are_bought_as_make_one_of_them_good_likely_enough(rate, asked):
    each = chance_of_one(rate)
    found = purchase_of(
        Stock(()), a_job(LONE), [an_offer(rate)], NOTHING, chance=asked, trials=150, seconds=60, seed=5
    )
    (line,) = found.lines
    told = 1 - (1 - each) ** line.count
    # Fresh trials are within four standard deviations, and one board fewer would not have done.
    assert abs(found.chance.share - told) < 4 * (told * (1 - told) / 150) ** 0.5
    assert found.likely
    assert 1 - (1 - each) ** (line.count - 1) < asked + 0.05
    assert found.price == 30 * line.count
    assert found.lacking == ("top",)


def test_clear_boards_need_no_more_than_the_job_takes():
    found = purchase_of(Stock(()), a_job(LONE), [an_offer(0)], NOTHING, trials=20, seconds=20)
    assert [line.count for line in found.lines] == [1]
    assert (found.chance.good, found.chance.trials, found.cheapest) == (20, 20, True)


def test_the_cheaper_way_is_taken_though_it_takes_more_boards():
    # Decay is met so often in the first that two or three of it are worth less than one that is clear.
    cheap, clear = an_offer(2.0, "10"), an_offer(0, "45", line=3)
    found = purchase_of(Stock(()), a_job(LONE), [clear, cheap], NOTHING, chance=0.9, trials=100, seconds=60)
    assert {line.offer.line for line in found.lines} == {2}
    assert found.price < 45


def test_no_more_is_bought_than_can_be_had():
    few = an_offer(10.0, available=1)
    found = purchase_of(Stock(()), a_job(LONE), [few], NOTHING, chance=0.9, trials=60, seconds=20)
    assert not found.likely
    assert sum(line.count for line in found.lines) <= 1


def test_nothing_is_bought_where_the_stock_makes_it_all():
    stock = Stock((a_board(width_mm=210),))
    found = purchase_of(stock, a_job(LONE), [an_offer(0)], NOTHING, trials=20, seconds=20)
    assert (found.lines, found.price, found.lacking) == ((), 0, ())


def test_the_same_seed_gives_the_same_answer():
    def ask(seed):
        return purchase_of(
            Stock(()), a_job(LONE), [an_offer(6.0)], NOTHING, trials=60, seconds=60, seed=seed
        ).chance

    assert ask(3) == ask(3)


def test_boards_are_drawn_like_those_of_their_species_and_supplier():
    knotty = a_board(defects=(a_defect(kind=DefectKind.SOUND_KNOT, outline=a_box(100, 50, 130, 80)),))
    clear = a_board()
    history = History({("spotted gum", "Riverbend Mill"): [knotty], ("spotted gum", "other"): [clear]})
    offer = an_offer(0, flaws=None, length_mm=2400.0, width_mm=180.0)
    board = board_like(offer, history, "new", Random(1), dry_pct=11)
    assert [defect.kind for defect in board.defects] == [DefectKind.SOUND_KNOT]
    xs = [x for x, _ in board.defects[0].outline]
    assert max(xs) - min(xs) == pytest.approx(30, abs=0.2)
    assert history.like(offer)[1] == "1 boards of spotted gum from Riverbend Mill"
    other = an_offer(0, flaws=None, supplier="nobody")
    assert history.like(other)[1] == "2 boards of spotted gum from any supplier"


def test_a_board_half_as_large_has_half_as_many_flaws():
    knots = tuple(
        a_defect(id=f"SG-0001/{n}", kind=DefectKind.SOUND_KNOT, outline=a_box(100 * n, 50, 100 * n + 30, 80))
        for n in range(10)
    )
    history = History({("spotted gum", "Riverbend Mill"): [a_board(defects=knots)]})
    offer = an_offer(0, flaws=None, length_mm=1200.0, width_mm=180.0)
    counts = [len(board_like(offer, history, "n", Random(n), dry_pct=11).defects) for n in range(200)]
    assert sum(counts) / 200 == pytest.approx(5, abs=0.01)


def test_poisson_numbers_have_their_mean_and_variance():
    rng = Random(4)
    drawn = [poisson(2.5, rng) for _ in range(4000)]
    mean = sum(drawn) / len(drawn)
    assert mean == pytest.approx(2.5, abs=0.1)
    assert sum((n - mean) ** 2 for n in drawn) / len(drawn) == pytest.approx(2.5, abs=0.25)


def test_wilsons_interval_is_the_one_published():
    # R. G. Newcombe, Statistics in Medicine 17 (1998), table I, method 3: 81 of 263, and 15 of 148.
    assert chance_of(81, 263).low == pytest.approx(0.2553, abs=5e-5)
    assert chance_of(81, 263).high == pytest.approx(0.3662, abs=5e-5)
    assert chance_of(15, 148).low == pytest.approx(0.0624, abs=5e-5)
    assert chance_of(15, 148).high == pytest.approx(0.1605, abs=5e-5)
