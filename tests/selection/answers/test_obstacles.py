"""Every reason told keeps the board out, and with all of them lifted it suits: judged by the brute force."""

import pytest

from stockyard.selection.answers.cases import case_of
from stockyard.selection.answers.obstacles import obstacles, standing, without
from stockyard.timber import DefectKind, Distortion, Face, Stock
from tests.builders import a_board, a_box, a_defect, a_job, a_panel
from tests.selection.answers.lone_staves import gives_a_stave
from tests.selection.random_instances import an_instance


def cases(seed):
    job, stock = an_instance(seed)
    for panel in job.panels:
        for board in stock.boards:
            yield case_of(stock, job, board.id, panel.id)


@pytest.mark.parametrize("seed", range(40))
def test_a_board_without_reasons_suits_and_one_with_reasons_does_not(seed):
    for case in cases(seed):
        suits = gives_a_stave(case.board, case.job, case.panel, case.reserved)
        assert (obstacles(case) == ()) == suits, case


@pytest.mark.parametrize("seed", range(40, 70))
def test_lifting_every_reason_lets_the_board_in_and_leaving_any_one_keeps_it_out(seed):
    for case in cases(seed):
        lifts = standing(case)
        if not lifts or lifts[0].obstacle.why == "panel":
            continue
        free = without(case, lifts)
        assert gives_a_stave(free.board, free.job, free.panel, free.reserved)
        alone = [lift for lift in lifts if not lift.obstacle.together]
        for lift in alone:
            held = without(case, lifts, but=[lift])
            assert not gives_a_stave(held.board, held.job, held.panel, held.reserved), lift.obstacle


def test_all_that_is_wrong_with_a_board_is_told():
    board = a_board(
        species="jarrah",
        moisture_pct=16.0,
        length_mm=1000,
        width_mm=60,
        thickness_mm=25,
        defects=(a_defect(id="SG-0001/1", kind=DefectKind.DECAY, outline=a_box(0, 0, 1000, 60)),),
    )
    stock = Stock((board,), reserved={"SG-0001": "promised to plan 12"})
    found = obstacles(case_of(stock, a_job(), "SG-0001", "top"))
    assert [each.name for each in found] == [
        "reserved", "moisture", "species", "length", "width", "thickness", "SG-0001/1",
    ]  # fmt: skip


def test_two_flaws_that_only_together_leave_no_room_are_named_together():
    # A stave takes 70 + 3 + 3 mm of the 160 there are at least; each decayed strip alone leaves enough.
    strips = (
        a_defect(id="SG-0001/1", kind=DefectKind.DECAY, outline=a_box(0, 40, 2400, 60)),
        a_defect(id="SG-0001/2", kind=DefectKind.DECAY, outline=a_box(0, 100, 2400, 120)),
    )
    board = a_board(width_mm=160, defects=strips)
    found = obstacles(case_of(Stock((board,)), a_job(), board.id, "top"))
    assert [(each.name, each.together) for each in found] == [
        ("SG-0001/1", ("SG-0001/2",)),
        ("SG-0001/2", ("SG-0001/1",)),
    ]


def test_a_flaw_is_no_reason_where_a_stave_has_room_beside_it():
    crack = a_defect(face=Face.A, outline=a_box(300, 80, 400, 84))
    wet = a_board(moisture_pct=15.5, defects=(crack,))
    found = obstacles(case_of(Stock((wet,)), a_job(), wet.id, "top"))
    assert [each.why for each in found] == ["moisture"]


def test_a_twisted_board_is_too_thin_only_over_the_length_it_is_used_in():
    # Over 1220 of 2400 mm a bow of 20 mm takes 20 x 0.2584 = 5.17 mm: 32 - 5.17 - 3 is 23.8, short of 24.
    bent = a_board(distortion=Distortion(bow_mm=20))
    found = obstacles(case_of(Stock((bent,)), a_job(), bent.id, "top"))
    assert [each.why for each in found] == ["thickness"]
    short = a_job(a_panel(length_mm=1100))
    assert obstacles(case_of(Stock((bent,)), short, bent.id, "top")) == ()


def test_a_panel_whose_staves_cannot_add_up_is_its_own_reason():
    odd = a_job(a_panel(width_mm=700))
    (only,) = obstacles(case_of(Stock((a_board(),)), odd, "SG-0001", "top"))
    assert (only.why, only.detail) == ("panel", "2 to 4 staves of 70 to 160 mm cannot add up to 700 mm")
