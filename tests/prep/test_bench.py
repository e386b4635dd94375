from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from stockyard.errors import BadInput
from stockyard.prep.bench import PrepHabits, WorkHabits, bench_sheet, stale_edges, stave_marks
from stockyard.prep.cautions import DEFER, Hazard, cautions, dust_limit
from stockyard.prep.gluing import GlueHabits
from stockyard.prep.joints import JointHabits, JointKind
from stockyard.timber import DefectKind, Face, MadePanel, Treatment
from tests.builders import a_board, a_box, a_defect
from tests.prep.plans import a_plan, a_stave

START = datetime(2026, 6, 1, 8, tzinfo=UTC)
CRACK = a_defect(depth_mm=4, opening_mm=0.3)
BARK = a_defect(id="SG-0001/2", kind=DefectKind.BARK_INCLUSION, outline=a_box(800, 50, 830, 80), depth_mm=6)
TREATED = a_stave(treat=(Treatment(CRACK.id, "ca", Decimal(2)), Treatment(BARK.id, "epoxy", Decimal(6))))
PLAN = a_plan(TREATED, a_stave("SG-0002"), a_stave("SG-0003"))
BOARDS = {
    "SG-0001": a_board(defects=(CRACK, BARK)),
    "SG-0002": a_board(id="SG-0002"),
    "SG-0003": a_board(id="SG-0003"),
}


def test_the_work_goes_in_its_order():
    sheet = bench_sheet(PLAN, BOARDS, START)

    assert list(dict.fromkeys(step.step.name for step in sheet.steps)) == [
        "condition", "dock", "rip", "stabilise", "joint", "slot", "dry fit", "glue", "clean", "flatten",
        "trim", "cut to length", "cut to width", "fill", "sand", "finish",
    ]  # fmt: skip
    assert sheet.steps[0].begins == START


def test_nothing_begins_before_what_it_waits_for():
    sheet = bench_sheet(PLAN, BOARDS, START)
    by_name = {step.step.name: step for step in sheet.steps}

    assert (by_name["dock"].begins - by_name["condition"].ends).total_seconds() >= 72 * 3600
    assert (by_name["clean"].begins - by_name["glue"].ends).total_seconds() >= 25 * 3600
    assert by_name["sand"].begins >= by_name["fill"].free_at


def test_edges_that_wait_more_than_a_day_for_their_glue_are_named():
    friday = START + timedelta(days=(4 - START.weekday()) % 7)
    habits = PrepHabits(glue=GlueHabits(widest_mm=280), work=WorkHabits(condition_hours=0))

    sheet = bench_sheet(PLAN, BOARDS, friday, habits)

    # A second stage waits 25 hours for the first, here over a weekend.
    assert stale_edges(sheet.steps) == ("top, stage 2",)
    assert stale_edges(bench_sheet(PLAN, BOARDS, START).steps) == ()


def test_steps_with_nothing_to_do_are_left_out():
    clear = a_plan(a_stave("SG-0002"), a_stave("SG-0003"))
    habits = PrepHabits(joints=JointHabits(JointKind.PLAIN))
    names = {step.step.name for step in bench_sheet(clear, BOARDS, START, habits).steps}

    assert not names & {"stabilise", "fill", "slot"}


def test_a_wide_panel_is_fitted_and_glued_in_stages():
    habits = PrepHabits(glue=GlueHabits(widest_mm=280))
    sheet = bench_sheet(PLAN, BOARDS, START, habits)

    assert [step.step.does.split(":")[0] for step in sheet.steps if step.step.name == "glue"] == [
        "top, stage 1",
        "top, stage 2",
    ]


def test_a_single_stave_is_not_glued():
    sheet = bench_sheet(a_plan(a_stave("SG-0002")), BOARDS, START)

    assert sheet.panels[0].glue_ups == ()
    assert not {step.step.name for step in sheet.steps} & {"joint", "glue", "dry fit", "slot"}


def test_staves_are_marked_so_that_the_panel_goes_together_as_planned():
    marks = stave_marks(MadePanel("top", (a_stave(), a_stave("SG-0002", turned=True, show=Face.B))))

    assert [(m.number, m.face, m.end, m.low_edge, m.high_edge) for m in marks] == [
        (1, "face A up", "end 1 first", "outer", "2"),
        (2, "face B up", "end 2 first", "1", "outer"),
    ]


def test_lines_are_pressed_and_spread_as_they_are_glued():
    # 1200 + 2 x 10 long and 24 + 2 x 1.5 thick, two lines at 180 g/m2; 1.2 MPa.
    (glue,) = bench_sheet(PLAN, BOARDS, START, PrepHabits(glue=GlueHabits(widest_mm=500))).panels[0].glue_ups

    assert glue.glue_g == pytest.approx(2 * 1.22 * 0.027 * 180)
    assert glue.force_n == pytest.approx(1220 * 27 * 1.2)
    assert glue.width_mm == 3 * 130 + 2 * 5


def test_the_sheet_tells_a_quote_what_is_used():
    sheet = bench_sheet(PLAN, BOARDS, START)
    work = sheet.work(coats=2)

    assert work.cyanoacrylate_ml == pytest.approx(Decimal(str(100 * 0.3 * 4 / 2000)))
    assert work.epoxy_ml == pytest.approx(
        Decimal(str(30 * 30 * 6 / 1000 * 1.15 + 7.5)), abs=Decimal("0.0001")
    )
    # 1200 x 390 x 24: both faces and four edges.
    assert work.finish_m2 == pytest.approx(
        Decimal(str(2 * (1.2 * 0.39 + 1.59 * 0.024))), abs=Decimal("0.0001")
    )
    assert work.minutes == pytest.approx(Decimal(str(sum(s.step.minutes for s in sheet.steps))))
    assert work.coats == 2


def test_cautions_go_with_what_is_done_and_defer_to_the_label():
    with_resin = bench_sheet(PLAN, BOARDS, START).cautions
    without = bench_sheet(a_plan(a_stave("SG-0002")), BOARDS, START).cautions

    assert any("harden" in said for said in with_resin)
    assert any("Bonds skin" in said for said in with_resin)
    assert not any("Bonds skin" in said or "Resin" in said for said in without)
    assert with_resin[-1] == without[-1] == DEFER
    assert cautions(set(), START.date()) == ()


def test_the_dust_limit_is_the_one_of_the_day():
    # haztek.com.au and ehsatlas.ohconsultant.com.au (read): 1 mg/m3 for hardwood until 30 November 2026, then
    # Workplace Exposure Limits apply, by two consultants' guides 0.5 mg/m3 for all wood dust.
    assert dust_limit(date(2026, 11, 30)).startswith("hardwood 1 mg/m3, softwood 5 mg/m3")
    assert dust_limit(date(2026, 12, 1)).startswith("0.5 mg/m3")
    assert "official list" in dust_limit(date(2027, 1, 1))
    assert any("1 mg/m3" in said for said in cautions({Hazard.DUST}, date(2026, 6, 1)))


def test_a_plan_that_makes_nothing_has_no_sheet():
    unmade = replace(PLAN, panels=(MadePanel("top", (), "no board is dry"),))

    with pytest.raises(BadInput, match="nothing to prepare"):
        bench_sheet(unmade, BOARDS, START)


def test_the_defaults_are_the_workshops_habits():
    habits = WorkHabits()

    assert (habits.condition_hours, habits.grits, habits.coats) == (72, (80, 120, 180, 240), 3)
