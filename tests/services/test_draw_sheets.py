import pytest

from stockyard.errors import BadInput, NotFound
from stockyard.prep.joints import JointKind
from stockyard.records import Yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.draw_bench import draw_bench
from stockyard.services.draw_delivery import draw_delivery
from stockyard.services.draw_labels import draw_labels
from stockyard.services.draw_materials import draw_materials
from stockyard.services.draw_sheets import draw_boards, draw_plan
from stockyard.services.prepare_plan import prepare_plan
from stockyard.services.trace_job import trace_job
from stockyard.timber import DefectKind, Face
from tests.builders import a_box
from tests.drawings.raster import pdf_text
from tests.services.yards import receive as receive_docket
from tests.stocking import a_plan, keep_plan, receive


@pytest.fixture
def planned(sqlite_yard: Yard) -> tuple[Yard, int, list[str]]:
    """A panel of two staves, each with a crack to treat."""
    with sqlite_yard.open_work() as work:
        numbers = receive(work, 2)
        for number in numbers:
            work.defects.add(
                number, DefectKind.CRACK, Face.A, a_box(300, 80, 400, 84), depth_mm=3, opening_mm=0.4
            )
        plan = keep_plan(work, a_plan(numbers, "thin cyanoacrylate"))
        work.commit()
    return sqlite_yard, plan, numbers


def words(drawing) -> str:
    return " ".join(" ".join(pdf_text(drawing.as_pdf())).split())


def test_boards_come_one_after_the_other(planned) -> None:
    yard, _, numbers = planned

    drawn = draw_boards(yard.open_work, numbers)

    assert [numbers[n] in text for n, text in enumerate(pdf_text(drawn.as_pdf()))] == [True, True]
    assert len(drawn.as_svg()) == 2


def test_a_plan_shows_each_panel_with_its_joints_and_each_board_with_its_cuts(planned) -> None:
    yard, plan, numbers = planned

    told = words(draw_plan(yard.open_work, plan))

    joints = prepare_plan(yard.open_work, plan).sheet.panels[0].joints[0].joints
    assert ", ".join(f"{joint.centre_mm:g}" for joint in joints) in told
    assert "A framed key is to be treated" in told
    for number in numbers:
        assert f"{number} cut map" in told
    assert "cut map" not in words(draw_plan(yard.open_work, plan, cuts=False))


def test_a_panel_that_the_plan_lacks_is_refused(planned) -> None:
    yard, plan, _ = planned

    with pytest.raises(NotFound, match="no panel in this plan 'door'"):
        draw_plan(yard.open_work, plan, panels=["door"])


def test_a_bench_sheet_says_all_that_the_plan_needs(planned) -> None:
    yard, plan, numbers = planned
    prepared = prepare_plan(yard.open_work, plan)

    told = words(draw_bench(yard.open_work, plan))

    for caution in prepared.sheet.cautions:
        assert " ".join(caution.split()) in told
    for need in prepared.sheet.treatments:
        assert need.defect in told
        assert f"{need.volume_ml:.2f} mL" in told
    for step in prepared.sheet.steps:
        assert step.step.name in told
    for number in numbers:
        assert number in told
    assert "panel layout" in told


def test_another_joint_is_drawn_as_it_was_asked_for(planned) -> None:
    yard, plan, _ = planned

    told = words(draw_bench(yard.open_work, plan, joint=JointKind.DOWEL))

    assert "dowel" in told
    assert "biscuit" not in told


def test_a_delivery_record_adds_up_to_the_docket(sqlite_yard: Yard) -> None:
    receive_docket(sqlite_yard, "spotted gum,2400,180,32,48.00", "jarrah,2400,150,32,39.50", docket="77")

    told = words(draw_delivery(sqlite_yard.open_work, "77"))

    assert "SG-0001" in told
    assert "JA-0001" in told
    # 2400 x 180 x 32 and 2400 x 150 x 32 mm are 0.013824 and 0.01152 m3, together 0.025344.
    for figure in ("0.0138", "0.0115", "0.0253", "48.00", "39.50", "87.50", "Riverbend Mill"):
        assert figure in told


def test_a_docket_that_never_came_is_named_as_such(sqlite_yard: Yard) -> None:
    with pytest.raises(NotFound, match="no docket '99'"):
        draw_delivery(sqlite_yard.open_work, "99")


def test_a_materials_statement_names_each_board_and_where_it_came_from(planned) -> None:
    yard, plan, numbers = planned
    allocate_plan(yard.open_work, plan)
    trace = trace_job(yard.open_work, "hall-bench")

    told = words(draw_materials(yard.open_work, "hall-bench"))

    for board in trace.boards:
        assert board.number in told
        assert board.species in told
    for _, said in trace.problems:
        assert " ".join(said.split()) in told
    assert "promised and not cut yet" in told
    assert {board.number for board in trace.boards} == set(numbers)


def test_labels_are_of_the_boards_named_of_a_docket_or_of_a_place_each_once(sqlite_yard: Yard) -> None:
    receive_docket(sqlite_yard, "spotted gum,2400,180,32,48.00", "spotted gum,2400,170,32,46.00", docket="77")
    receive_docket(sqlite_yard, "jarrah,2400,150,32,39.50", docket="78", place="rack 9")
    ask = sqlite_yard.open_work

    def on(drawing) -> list[str]:
        return [label.name for page in drawing.pages for label in page.marks]

    assert on(draw_labels(ask, ["SG-0002", "SG-0001"])) == ["SG-0002", "SG-0001"]
    assert on(draw_labels(ask, ["SG-0002"], docket="77")) == ["SG-0002", "SG-0001"]
    assert on(draw_labels(ask, place="rack 9", copies=2)) == ["JA-0001", "JA-0001"]
    with pytest.raises(NotFound, match="SG-0009"):
        draw_labels(ask, ["SG-0001", "SG-0009"])
    with pytest.raises(BadInput, match="No board is meant"):
        draw_labels(ask, place="rack 5")
    with pytest.raises(BadInput, match="copies"):
        draw_labels(ask, ["SG-0001"], copies=0)
