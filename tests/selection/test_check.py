from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from stockyard.measures.colour import colour_difference
from stockyard.selection.check import check_plan, cost_of
from stockyard.timber import (
    Allowances,
    DefectKind,
    Distortion,
    Do,
    Face,
    MadePanel,
    MoistureRule,
    Offcut,
    Reason,
    Rejection,
    Rings,
    Rule,
    Rules,
    Section,
    Show,
    Status,
    Strip,
    StripUse,
    Treatment,
    Unread,
    Window,
)
from tests.builders import a_board, a_box, a_defect, a_panel
from tests.selection.lawful import (
    DARK,
    PALE,
    a_lawful_case,
    with_board,
    with_cut,
    with_section,
    with_stave,
)


def found(plan, stock):
    return [str(fault) for fault in check_plan(plan, stock)]


def with_job(plan, **changes):
    return replace(plan, job=replace(plan.job, **changes))


def with_panel(plan, **changes):
    return with_job(plan, panels=(replace(plan.job.panels[0], **changes),))


def with_allowances(plan, **changes):
    return with_job(plan, allowances=replace(plan.job.allowances, **changes))


def with_rule(plan, kind, rule, face="show"):
    rules = replace(plan.job.rules, **{face: {**getattr(plan.job.rules, face), kind: rule}})
    return with_job(plan, rules=rules)


def with_defect(stock, board_id="one", **changes):
    board = next(board for board in stock.boards if board.id == board_id)
    new = a_defect(**({"id": "new", "kind": DefectKind.DECAY} | changes))
    return with_board(stock, board_id, defects=(*board.defects, new))


def test_the_plan_worked_out_by_hand_is_lawful():
    assert found(*a_lawful_case()) == []


def test_the_cost_is_counted_again_from_the_staves_and_cuts():
    plan, stock = a_lawful_case()
    parts = cost_of(replace(plan, cost_parts=replace(plan.cost_parts, timber=Decimal(0))), stock)
    assert parts.timber == 68
    assert parts.handling == 8
    assert parts.treatments == 3
    assert parts.appearance == Decimal("1.5")
    assert parts.rings == 1
    assert float(parts.match) == pytest.approx(0.2 * colour_difference(PALE, DARK))
    board_mm2, clear_mm2 = 2400 * 180, 1147 * 180 - 100 * 40 + 1220 * 38
    assert abs(Fraction(str(parts.offcuts)) + Fraction(24 * clear_mm2, board_mm2)) < Fraction(1, 10**20)


# One change for each sentence of the definition; each has to be found, at its place.
STAVE, SECOND, SECTION = "panels[0].staves[0]", "panels[0].staves[1]", "boards[0].sections[0]"

UNLAWFUL_STAVES = {
    "a stave shows one face": (lambda p, s: (with_stave(p, 0, show=Face.BOTH), s), f"{STAVE}.show"),
    "a stave is as long as its panel": (
        lambda p, s: (with_panel(p, length_mm=1199), s),
        f"{STAVE}.finished: expected a length of 1199 mm",
    ),
    "a panel's length is rounded up": (
        lambda p, s: (with_panel(p, length_mm=1200.01), s),
        f"{STAVE}.finished: expected a length of 1201 mm",
    ),
    "a stave is no narrower than the panel allows": (
        lambda p, s: (with_panel(p, stave_width_min_mm=120.5), s),
        f"{SECOND}.finished: expected a width of 121 to 160 mm",
    ),
    "a stave is no wider than the panel allows": (
        lambda p, s: (with_panel(p, stave_width_max_mm=129.9), s),
        f"{STAVE}.finished: expected a width of 70 to 129 mm",
    ),
    "ends carry their trim": (lambda p, s: (with_allowances(p, end_trim_mm=9), s), f"{STAVE}.rough"),
    "glued edges carry jointing": (
        lambda p, s: (with_allowances(p, edge_joint_mm=2), s),
        f"{SECOND}.rough",
    ),
    "outer edges carry their trim": (lambda p, s: (with_allowances(p, side_trim_mm=4), s), f"{STAVE}.rough"),
    "allowances are rounded up": (lambda p, s: (with_allowances(p, edge_joint_mm=3.2), s), f"{STAVE}.rough"),
    "spring takes its sagitta over the piece, rounded up": (
        lambda p, s: (p, with_board(s, "one", distortion=Distortion(spring_mm=4))),
        f"{STAVE}.rough: expected x 30 to 1250, y 0 to 140",
    ),
    "straightening lies on the high-y side": (
        lambda p, s: (with_stave(p, 0, finished=Window(40, 6, 1240, 136)), s),
        f"{STAVE}.rough",
    ),
    "turning a stave exchanges its outer and its glued edge": (
        lambda p, s: (with_stave(p, 0, turned=True), s),
        f"{STAVE}.rough: expected x 30 to 1250, y 2 to 141",
    ),
    "showing the other face exchanges them too": (
        lambda p, s: (with_stave(p, 1, show=Face.A), s),
        f"{SECOND}.rough",
    ),
    "a stave lies clear of the ends docked": (
        lambda p, s: (with_allowances(p, board_end_loss_mm=31), s),
        f"{STAVE}.rough: expected inside x 31 to 2369",
    ),
    "a board's width is rounded down": (
        lambda p, s: (p, with_board(s, "two", width_mm=136.9)),
        f"{SECOND}.rough: expected inside x 20 to 1280, y 0 to 136",
    ),
    "a board's length is rounded down": (
        lambda p, s: (with_allowances(p, board_end_loss_mm=30), with_board(s, "two", length_mm=1279.99)),
        f"{SECOND}.rough: expected inside x 30 to 1249",
    ),
    "planing leaves the panel's thickness": (
        lambda p, s: (p, with_board(s, "two", thickness_mm=26.9)),
        f"{SECOND}: expected 24 mm of thickness",
    ),
    # 32 - 3 - 4 * (1220/2400)^2 - (139/180)^2 - 2 * 1220/2400 * 139/180 = 26.58497
    "bow, cup and twist take thickness as far as the piece has them": (
        lambda p, s: (with_panel(p, thickness_mm=26.6), s),
        f"{STAVE}: expected 26.6 mm of thickness, found 26.585 mm left",
    ),
    "the species is one the panel asks for": (
        lambda p, s: (p, with_board(s, "two", species="red oak")),
        f"{SECOND}: expected spotted gum, found red oak",
    ),
    "a board is not too wet": (
        lambda p, s: (p, with_board(s, "two", moisture_pct=14.1)),
        f"{SECOND}: expected 8 to 14 % moisture",
    ),
    "a board is not too dry": (
        lambda p, s: (p, with_board(s, "one", moisture_pct=7.9)),
        f"{STAVE}: expected 8 to 14 % moisture",
    ),
    "a board never read is not used": (
        lambda p, s: (p, with_board(s, "two", moisture_pct=None)),
        f"{SECOND}: expected a moisture reading",
    ),
    "an avoided defect is not inside": (
        lambda p, s: (p, with_defect(s, outline=a_box(500, 60, 501, 61))),
        f"{STAVE}: expected decay avoided",
    ),
    "a kind with no rule is avoided": (
        lambda p, s: (p, with_defect(s, kind=DefectKind.STAIN, outline=a_box(500, 60, 501, 61))),
        f"{STAVE}: expected stain avoided",
    ),
    "a defect on the back is judged by the back's rule": (
        lambda p, s: (
            p,
            with_defect(s, kind=DefectKind.CRACK, face=Face.B, outline=a_box(500, 60, 510, 64)),
        ),
        f"{STAVE}: expected crack avoided",
    ),
    "a through defect is judged on the back too": (
        lambda p, s: (with_job(p, rules=Rules(p.job.rules.show)), s),
        f"{STAVE}: expected sound_knot avoided",
    ),
    "a crack too long to treat is avoided": (
        lambda p, s: (
            with_rule(p, DefectKind.CRACK, Rule(Do.TREAT, Decimal(2), Decimal("0.01"), max_length_mm=99.9)),
            s,
        ),
        f"{STAVE}: expected crack avoided",
    ),
    "a crack too large to treat is avoided": (
        lambda p, s: (
            with_rule(p, DefectKind.CRACK, Rule(Do.TREAT, Decimal(2), Decimal("0.01"), max_area_mm2=399)),
            s,
        ),
        f"{STAVE}: expected crack avoided",
    ),
    "planing takes away only what is no deeper": (
        lambda p, s: (with_allowances(p, face_planing_mm=1.4), s),
        f"{STAVE}: expected stain avoided",
    ),
    "planing takes away nothing that goes through": (
        lambda p, s: (p, with_defect(s, face=Face.BOTH, depth_mm=1, outline=a_box(500, 60, 510, 64))),
        f"{STAVE}: expected decay avoided",
    ),
    "a weakening defect keeps off the glue line, treated or not": (
        lambda p, s: (p, with_defect(s, kind=DefectKind.CRACK, outline=a_box(500, 120, 550, 131))),
        f"{STAVE}: expected the glued edge nearer edge 2 clear of crack",
    ),
    "a weakening defect keeps off the finished ends, on either face": (
        lambda p, s: (
            p,
            with_defect(s, kind=DefectKind.CRACK, face=Face.B, outline=a_box(1229, 60, 1231, 62)),
        ),
        f"{STAVE}: expected the end nearer end 2 clear of crack",
    ),
    "each treated defect is listed": (
        lambda p, s: (with_stave(p, 0, treat=()), s),
        f"{STAVE}.treat: expected one/1 listed",
    ),
    "no other defect is listed as treated": (
        lambda p, s: (with_stave(p, 1, treat=(Treatment("two/9", "epoxy", Decimal(0)),)), s),
        f"{SECOND}.treat: expected two/9 not listed",
    ),
    "a treatment is priced right": (
        lambda p, s: (with_stave(p, 0, treat=(Treatment("one/1", "epoxy", Decimal("3.000001")),)), s),
        f"{STAVE}.treat[0].cost: expected 3.000000",
    ),
    "a treatment says how": (
        lambda p, s: (with_stave(p, 0, treat=(Treatment("one/1", " ", Decimal(3)),)), s),
        f"{STAVE}.treat[0].method",
    ),
    "each accepted defect is listed": (
        lambda p, s: (with_stave(p, 0, accept=()), s),
        f"{STAVE}.accept: expected one/2 listed",
    ),
    "an accepted defect is listed once": (
        lambda p, s: (with_stave(p, 0, accept=("one/2", "one/2")), s),
        f"{STAVE}.accept: expected one/2 listed once",
    ),
    "a defect outside the finished stave is not listed": (
        lambda p, s: (with_stave(p, 0, accept=("one/2", "one/3")), s),
        f"{STAVE}.accept: expected one/3 not listed",
    ),
}

UNLAWFUL_PANELS = {
    "widths add up to the panel's": (
        lambda p, s: (with_panel(p, width_mm=251), s),
        "panels[0].staves: expected widths adding up to 251 mm, found 250 mm",
    ),
    "a panel's width is rounded up": (
        lambda p, s: (with_panel(p, width_mm=250.2), s),
        "panels[0].staves: expected widths adding up to 251 mm",
    ),
    "there are enough staves": (
        lambda p, s: (with_panel(p, staves_min=3), s),
        "panels[0].staves: expected 3 to 3 staves, found 2",
    ),
    "there are not too many staves": (
        lambda p, s: (with_panel(p, staves_min=1, staves_max=1), s),
        "panels[0].staves: expected 1 to 1 staves",
    ),
    "a panel is of one species": (
        lambda p, s: (
            with_panel(p, species=("spotted gum", "red oak")),
            with_board(s, "two", species="red oak"),
        ),
        "panels[0].staves: expected one species",
    ),
    "a panel is evenly dry": (
        lambda p, s: (with_job(p, moisture=MoistureRule(spread_pct=1.4)), s),
        "panels[0].staves: expected moisture within 1.4 %",
    ),
    "every panel is answered": (
        lambda p, s: (with_job(p, panels=(*p.job.panels, a_panel(id="shelf"))), s),
        "panels: expected top, shelf, found top",
    ),
    "an unmade panel says why": (
        lambda p, s: (
            replace(
                with_job(p, panels=(*p.job.panels, a_panel(id="shelf"))),
                panels=(*p.panels, MadePanel("shelf")),
            ),
            s,
        ),
        "panels[1].why",
    ),
    "a made panel gives no reason": (
        lambda p, s: (replace(p, panels=(replace(p.panels[0], why="no timber"),)), s),
        "panels[0].why",
    ),
    "a stave's board is in the stock": (
        lambda p, s: (with_stave(p, 0, board="nine"), s),
        f"{STAVE}.board",
    ),
}

STAVE_STRIP, WASTE_STRIP = Strip(StripUse.STAVE, 0, 139, "top", 0), Strip(StripUse.WASTE, 142, 180)

UNLAWFUL_CUTS = {
    "a board is cut in one place": (
        lambda p, s: (replace(p, boards=(*p.boards, p.boards[0])), s),
        "boards: expected one listed once",
    ),
    "a board is cut for something": (
        lambda p, s: (with_section(p, 0, strips=(Strip(StripUse.OFFCUT, 0, 180),)), s),
        "boards[0].sections: expected a stave cut from it",
    ),
    "every stave is cut": (
        lambda p, s: (replace(p, boards=p.boards[:1]), s),
        f"{SECOND}: expected cut as one strip, found 0 strips",
    ),
    "no stave is cut twice": (
        lambda p, s: (
            with_cut(
                p, 0, sections=(*p.boards[0].sections, replace(p.boards[0].sections[0], x0=1253, x1=2380))
            ),
            s,
        ),
        f"{STAVE}: expected cut as one strip, found 2 strips",
    ),
    "a board cut is in the stock": (lambda p, s: (with_cut(p, 0, id="nine"), s), "boards[0].id"),
    "a reserved board is left alone": (
        lambda p, s: (p, replace(s, reserved={"one": "promised to plan 3"})),
        "boards[0].id: expected a board that is free",
    ),
    "sections lie on the board": (
        lambda p, s: (with_section(p, 1, x1=1301), s),
        "boards[1].sections[0]: expected x rising within 0 to 1300",
    ),
    "sections are a kerf apart": (
        lambda p, s: (
            with_cut(p, 0, sections=(*p.boards[0].sections, Section(1252, 2000, (STAVE_STRIP,)))),
            s,
        ),
        "boards[0].sections[1]: expected x0 of 1253 at least",
    ),
    "a section spans just its staves": (
        lambda p, s: (with_section(p, 0, x0=29), s),
        f"{SECTION}: expected x 30 to 1250, as its staves, found x 29 to 1250",
    ),
    "a strip's stave comes from its board": (
        lambda p, s: (with_section(p, 0, strips=(replace(STAVE_STRIP, stave=1), WASTE_STRIP)), s),
        f"{SECTION}.strips[0]: expected a stave cut from one",
    ),
    "a strip is as wide as its stave": (
        lambda p, s: (with_section(p, 0, strips=(replace(STAVE_STRIP, y1=140), WASTE_STRIP)), s),
        f"{SECTION}.strips[0]: expected y 0 to 139, as its stave",
    ),
    "strips are a kerf apart": (
        lambda p, s: (with_section(p, 0, strips=(STAVE_STRIP, Strip(StripUse.OFFCUT, 141, 180))), s),
        f"{SECTION}.strips[1]: expected y0 of 142 at least",
    ),
    "strips stand in order": (
        lambda p, s: (with_section(p, 0, strips=p.boards[0].sections[0].strips[::-1]), s),
        f"{SECTION}.strips",
    ),
    "what is left is listed": (
        lambda p, s: (with_section(p, 0, strips=(STAVE_STRIP,)), s),
        f"{SECTION}.strips",
    ),
    "what reaches the least size is an offcut": (
        lambda p, s: (with_section(p, 0, strips=(STAVE_STRIP, WASTE_STRIP)), s),
        f"{SECTION}.strips",
    ),
    "what does not is waste": (
        lambda p, s: (with_allowances(p, offcut_width_mm=38.5), s),
        f"{SECTION}.strips",
    ),
    "only a stave's strip names a stave": (
        lambda p, s: (
            with_section(p, 0, strips=(STAVE_STRIP, Strip(StripUse.OFFCUT, 142, 180, "top", 0))),
            s,
        ),
        f"{SECTION}.strips[1]: expected no stave in offcut",
    ),
    "every offcut is listed": (
        lambda p, s: (with_cut(p, 0, offcuts=p.boards[0].offcuts[:1]), s),
        "boards[0].offcuts: expected x 30 to 1250, y 142 to 180 listed once, found 0 times",
    ),
    "an offcut is listed once": (
        lambda p, s: (with_cut(p, 0, offcuts=p.boards[0].offcuts * 2), s),
        "boards[0].offcuts: expected x 1253 to 2400, y 0 to 180 listed once, found 2 times",
    ),
    "nothing too short is an offcut": (
        lambda p, s: (
            with_cut(p, 1, offcuts=(Offcut(Window(1253, 0, 1300, 137), Decimal("0.361538")),)),
            s,
        ),
        "boards[1].offcuts[0]: expected a remnant",
    ),
    "an offcut at an end keeps that end, and loses a kerf at its section": (
        lambda p, s: (with_allowances(p, kerf_mm=2), s),
        "boards[0].offcuts: expected x 1252 to 2400, y 0 to 180 listed once",
    ),
    "an offcut is credited with its clear area's share": (
        lambda p, s: (p, with_defect(s, outline=a_box(2200, 20, 2210, 30))),
        "boards[0].offcuts[0].value",
    ),
    "a defect planed away in staves still counts in an offcut": (
        lambda p, s: (p, with_defect(s, depth_mm=1, outline=a_box(2200, 20, 2210, 30))),
        "boards[0].offcuts[0].value",
    ),
    "a defect too large to treat counts in an offcut as avoided": (
        lambda p, s: (p, with_defect(s, kind=DefectKind.CRACK, outline=a_box(1900, 20, 2101, 24))),
        "boards[0].offcuts[0].value",
    ),
}

UNLAWFUL_CLAIMS = {
    **{
        f"the {part} part is counted right": (
            lambda p, s, part=part: (
                replace(
                    p,
                    cost_parts=replace(
                        p.cost_parts, **{part: getattr(p.cost_parts, part) + Decimal("0.000001")}
                    ),
                ),
                s,
            ),
            f"cost_parts.{part}",
        )
        for part in ("timber", "handling", "offcuts", "treatments", "appearance", "match", "rings")
    },
    "a part is a number": (
        lambda p, s: (replace(p, cost_parts=replace(p.cost_parts, match=Decimal("NaN"))), s),
        "cost_parts.match",
    ),
    "the bound is no more than the cost": (
        lambda p, s: (replace(p, status=Status.FEASIBLE, bound=p.cost + Decimal("0.00001")), s),
        "bound",
    ),
    "the bound is a number": (lambda p, s: (replace(p, bound=Decimal("Infinity")), s), "bound"),
    "an optimal plan has no gap": (
        lambda p, s: (replace(p, bound=p.cost - Decimal("0.001")), s),
        "bound: expected",
    ),
    "the time is a time": (lambda p, s: (replace(p, seconds=float("nan")), s), "seconds"),
    "a plan that makes something is not infeasible": (
        lambda p, s: (replace(p, status=Status.INFEASIBLE), s),
        "status",
    ),
    "a plan that makes nothing is not optimal": (
        lambda p, s: (replace(p, panels=(MadePanel("top", why="no timber"),)), s),
        "status",
    ),
    "money is the stock's": (lambda p, s: (replace(p, currency="EUR"), s), "currency"),
    "a rejected board is in the stock": (
        lambda p, s: (replace(p, rejected=(replace(p.rejected[0], id="nine"),)), s),
        "rejected[0].id",
    ),
    "a rejected board is not cut": (
        lambda p, s: (replace(p, rejected=(*p.rejected, replace(p.rejected[0], id="one"))), s),
        "rejected[1].id",
    ),
    "a board is rejected once": (
        lambda p, s: (replace(p, rejected=p.rejected * 2), s),
        "rejected[0].id: expected a board rejected once",
    ),
    "a rejection has a reason": (
        lambda p, s: (replace(p, rejected=(Rejection("three", ()),)), s),
        "rejected[0].reasons",
    ),
    "a reason is about a panel of the job": (
        lambda p, s: (replace(p, rejected=(Rejection("three", (Reason("width", "shelf", "narrow"),)),)), s),
        "rejected[0].reasons[0].panel",
    ),
    "a reason says something": (
        lambda p, s: (replace(p, rejected=(Rejection("three", (Reason("width", None, ""),)),)), s),
        "rejected[0].reasons[0]",
    ),
    "a reserved board is rejected": (lambda p, s: (replace(p, rejected=()), s), "rejected: expected three"),
}


@pytest.mark.parametrize(
    "rule", [*UNLAWFUL_STAVES, *UNLAWFUL_PANELS, *UNLAWFUL_CUTS, *UNLAWFUL_CLAIMS], ids=str
)
def test_a_plan_made_unlawful_is_found_out(rule):
    change, place = (UNLAWFUL_STAVES | UNLAWFUL_PANELS | UNLAWFUL_CUTS | UNLAWFUL_CLAIMS)[rule]
    faults = found(*change(*a_lawful_case()))
    assert any(fault.startswith(place) for fault in faults), faults


def changed_lawfully(name):
    """A change that leaves the plan lawful, though a careless check would object."""
    plan, stock = a_lawful_case()
    if name == "a weakening defect may cross an outer edge":
        parts = replace(plan.cost_parts, treatments=Decimal("5.50"))
        plan = with_stave(
            plan,
            0,
            treat=(*plan.panels[0].staves[0].treat, Treatment("new", "epoxy", Decimal("2.50"))),
        )
        plan = replace(plan, cost_parts=parts, bound=parts.total)
        return plan, with_defect(stock, kind=DefectKind.CRACK, outline=a_box(600, 0, 650, 9))
    if name == "a defect in waste is owed nothing":
        return plan, with_defect(stock, "two", outline=a_box(500, 0, 600, 12))
    if name == "a defect that touches the finished edge does not meet it":
        return plan, with_defect(stock, outline=a_box(500, 135, 600, 139))
    if name == "a shallow defect is planed away even on the glue line":
        return plan, with_defect(
            stock, kind=DefectKind.CHECK, depth_mm=1.5, outline=a_box(500, 100, 600, 139)
        )
    if name == "an unread board does not count in the spread":
        plan = with_job(plan, moisture=MoistureRule(spread_pct=0, unread=Unread.ALLOW))
        return plan, with_board(stock, "two", moisture_pct=None)
    if name == "a spread just reached is within it":
        return with_job(plan, moisture=MoistureRule(spread_pct=1.5)), stock
    if name == "fractions of a millimetre are given away, not missed":
        plan = with_panel(plan, length_mm=1199.2, width_mm=249.5, stave_width_min_mm=119.5)
        return with_allowances(plan, end_trim_mm=9.5, kerf_mm=2.4, offcut_width_mm=37.1), stock
    if name == "a feasible plan may have a gap":
        return replace(plan, status=Status.FEASIBLE, bound=Decimal(0)), stock
    raise ValueError(name)


@pytest.mark.parametrize(
    "name",
    [
        "a weakening defect may cross an outer edge",
        "a defect in waste is owed nothing",
        "a defect that touches the finished edge does not meet it",
        "a shallow defect is planed away even on the glue line",
        "an unread board does not count in the spread",
        "a spread just reached is within it",
        "fractions of a millimetre are given away, not missed",
        "a feasible plan may have a gap",
    ],
)
def test_what_is_lawful_is_let_pass(name):
    assert found(*changed_lawfully(name)) == []


def test_a_crack_on_the_trimmed_edge_of_a_board_is_treated_like_any_other_inside():
    plan, stock = changed_lawfully("a weakening defect may cross an outer edge")
    plan = with_stave(plan, 0, treat=plan.panels[0].staves[0].treat[:1])
    assert f"{STAVE}.treat: expected new listed, found not listed" in found(plan, stock)


def test_a_panel_that_shows_both_faces_judges_both_as_show():
    plan, stock = a_lawful_case()
    plan = with_panel(plan, show=Show.BOTH)
    plan = with_rule(plan, DefectKind.SOUND_KNOT, Rule(), face="back")
    assert found(plan, stock) == []
    # ... a penalty once, though the knot is in sight twice
    assert cost_of(plan, stock).appearance == Decimal("1.5")
    stock = with_defect(stock, kind=DefectKind.CRACK, face=Face.B, outline=a_box(500, 60, 510, 64))
    assert f"{STAVE}.treat: expected new listed, found not listed" in found(plan, stock)


def test_a_through_defect_treated_on_two_faces_is_charged_the_dearer_once():
    plan, stock = a_lawful_case()
    stock = with_defect(stock, kind=DefectKind.CRACK, face=Face.BOTH, outline=a_box(500, 60, 510, 64))
    plan = with_rule(plan, DefectKind.CRACK, Rule(Do.TREAT, per_item=Decimal("2.4")), face="back")
    assert cost_of(plan, stock).treatments == Decimal("3.00") + Decimal("2.40")


def test_a_through_defect_treated_behind_and_accepted_in_sight_owes_both():
    plan, stock = a_lawful_case()
    plan = with_rule(plan, DefectKind.SOUND_KNOT, Rule(Do.TREAT, per_item=Decimal(7)), face="back")
    parts = cost_of(plan, stock)
    assert (parts.treatments, parts.appearance) == (Decimal(10), Decimal("1.5"))


@pytest.mark.parametrize(
    ("rings", "hearts", "owed"),
    [
        (Rings.ANY, (None, None), 0),
        (Rings.SAME, (Face.B, Face.B), 1),
        (Rings.SAME, (Face.A, Face.B), 0),
        (Rings.SAME, (Face.A, None), 1),
        (Rings.ALTERNATE, (Face.B, Face.B), 0),
        (Rings.ALTERNATE, (Face.A, Face.B), 1),
        (Rings.ALTERNATE, (None, None), 1),
    ],
)
def test_rings_are_owed_where_the_rule_is_broken_or_cannot_be_known(rings, hearts, owed):
    plan, stock = a_lawful_case()  # shows A of one, B of two
    for board_id, heart in zip(("one", "two"), hearts, strict=True):
        stock = with_board(stock, board_id, heart_face=heart)
    assert cost_of(with_job(plan, rings=rings), stock).rings == owed


def test_colours_cost_nothing_unless_both_shown_faces_are_known():
    plan, stock = a_lawful_case()
    stock = with_board(stock, "one", colour_a=None, colour_b=PALE)
    assert cost_of(plan, stock).match == 0


def test_a_board_worth_nothing_and_nothing_recovered_are_counted_without_trouble():
    plan, stock = a_lawful_case()
    assert cost_of(plan, with_board(stock, "one", value=Decimal(0))).offcuts == 0
    free = with_job(plan, costs=replace(plan.job.costs, recovery=Decimal(0)))
    assert cost_of(free, stock).offcuts == 0


def test_nothing_made_is_a_sound_answer_when_it_is_called_infeasible():
    plan, stock = a_lawful_case()
    empty = replace(
        plan,
        status=Status.INFEASIBLE,
        cost_parts=type(plan.cost_parts)(),
        bound=Decimal(0),
        panels=(MadePanel("top", why="no board is wide enough"),),
        boards=(),
    )
    assert found(empty, stock) == []


def test_two_staves_of_different_lengths_share_a_section_side_by_side():
    """Finished 100 x 30 and 60 x 30, no allowances: the shorter one leaves the rest of its strip as waste."""
    plan, stock = a_lawful_case()
    none = Allowances(0, 0, 0, 0, 0, 3, 0, 0, 40, 10)
    long, short = (
        a_panel(
            id=name,
            length_mm=length,
            width_mm=30,
            staves_min=1,
            stave_width_min_mm=30,
        )
        for name, length in (("long", 100), ("short", 60))
    )
    board = a_board(length_mm=200, width_mm=100, value=Decimal(20))
    job = replace(plan.job, allowances=none, panels=(long, short))
    first, second = Window(0, 0, 100, 30), Window(40, 33, 100, 63)
    stave = replace(plan.panels[0].staves[0], board=board.id, treat=(), accept=())
    strips = (
        Strip(StripUse.STAVE, 0, 30, "long", 0),
        Strip(StripUse.STAVE, 33, 63, "short", 0),
        Strip(StripUse.OFFCUT, 66, 100),
    )
    offcuts = (
        Offcut(Window(103, 0, 200, 100), Decimal("4.85")),
        Offcut(Window(0, 66, 100, 100), Decimal("1.70")),
    )
    parts = type(plan.cost_parts)(timber=Decimal(20), handling=Decimal(4), offcuts=Decimal("-6.55"))
    plan = replace(
        plan,
        job=job,
        cost_parts=parts,
        bound=parts.total,
        panels=(
            MadePanel("long", (replace(stave, finished=first, rough=first),)),
            MadePanel("short", (replace(stave, finished=second, rough=second),)),
        ),
        boards=(replace(plan.boards[0], id=board.id, sections=(Section(0, 100, strips),), offcuts=offcuts),),
        rejected=(),
    )
    assert found(plan, replace(stock, boards=(board,), reserved={})) == []
