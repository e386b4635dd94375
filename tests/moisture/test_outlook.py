import pytest

from stockyard.errors import BadInput
from stockyard.moisture.climate import span_of
from stockyard.moisture.movement import Grain, Sawn
from stockyard.moisture.outlook import panel_outlook
from stockyard.timber import Face, MadePanel, Stave, Window
from tests.builders import a_board


def stave(board, width):
    window = Window(0, 0, 1800, width)
    return Stave(board=board, show=Face.A, turned=False, finished=window, rough=window)


PANEL = MadePanel("top", tuple(stave(f"BB-{n}", 100) for n in range(1, 10)))
BOARDS = {f"BB-{n}": a_board(id=f"BB-{n}", species="blackbutt", moisture_pct=10.0) for n in range(1, 10)}
HOUSE = span_of((20, 0.45), (20, 0.65), 2026)


def test_a_top_of_nine_staves_moves_as_one_board_of_its_width():
    # 900 mm of backsawn blackbutt, 45 to 65 % at 20 °C: 8.49 to 12.00 %, 11.7 mm (computed).
    backsawn = {board: Grain(Sawn.BACKSAWN) for board in BOARDS}
    outlook = panel_outlook(PANEL, BOARDS, HOUSE, grains=backsawn)

    assert outlook.movement.width_mm == 900
    assert outlook.movement.swing_mm == pytest.approx(11.7, abs=0.05)
    assert outlook.movement.clearance_each_side_mm == 6.0
    assert outlook.destination_pct == pytest.approx(10.25, abs=0.01)
    assert outlook.readiness.ready
    assert [note.split(": ")[1] for note in outlook.movement.notes] == ["reconditioned timber"]


def test_quartersawn_staves_move_less():
    # 0.26 % radially (Queensland Government, read): 900 x 0.0026 x 3.51.
    quarter = {board: Grain(Sawn.QUARTERSAWN) for board in BOARDS}

    assert panel_outlook(PANEL, BOARDS, HOUSE, grains=quarter).movement.swing_mm == pytest.approx(
        8.2, abs=0.05
    )


def test_a_wet_stave_holds_up_the_panel():
    boards = BOARDS | {"BB-4": a_board(id="BB-4", species="blackbutt", moisture_pct=12.5)}
    readiness = panel_outlook(PANEL, boards, HOUSE).readiness

    assert not readiness.ready
    assert readiness.spread_pct == 2.5
    assert all("BB-4" in why for why in readiness.why_not)


def test_a_missing_board_is_named():
    with pytest.raises(BadInput, match="board BB-9"):
        panel_outlook(PANEL, {b: BOARDS[b] for b in BOARDS if b != "BB-9"}, HOUSE)


def test_a_panel_that_is_not_made_has_no_outlook():
    with pytest.raises(BadInput, match="not made: too wet"):
        panel_outlook(MadePanel("top", (), "too wet"), BOARDS, HOUSE)
