import json
from copy import deepcopy
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.errors import BadInput
from stockyard.selection.interchange import (
    job_document,
    plan_document,
    read_job,
    read_plan,
    read_stock,
    stock_document,
)
from stockyard.timber import (
    Allowances,
    Costs,
    DefectKind,
    Do,
    Face,
    Job,
    MoistureRule,
    Rings,
    Rule,
    Rules,
    Show,
    Stock,
    Unread,
)
from tests.builders import a_board, a_box, a_defect, a_job, a_panel
from tests.selection.lawful import a_lawful_case

STOCK = {
    "format": "stockyard.stock/1",
    "currency": "AUD",
    "boards": [
        {
            "id": "SG-0017",
            "species": "spotted gum",
            "length": 2440,
            "width": 178,
            "thickness": 32,
            "value": 48.20,
            "moisture": 11.2,
            "distortion": {"bow": 4, "spring": 3, "cup": 1, "twist": 2},
            "heart_face": "B",
            "colour": {"A": [52.1, 14.0, 22.5], "B": [50.7, 13.1, 21.9]},
            "defects": [
                {
                    "id": "SG-0017/1",
                    "kind": "crack",
                    "face": "A",
                    "depth": 3,
                    "opening": 0.4,
                    "outline": [[310, 40], [455, 52], [455, 55], [310, 43]],
                },
                {
                    "kind": "bark_inclusion",
                    "face": "both",
                    "outline": [[1800, 100], [1860, 100], [1860, 130], [1800, 130]],
                },
            ],
        },
        {
            "id": "SG-0018",
            "species": "spotted gum",
            "length": 1800.5,
            "width": 140,
            "thickness": 32,
            "value": 31,
            "defects": [],
        },
    ],
}
JOB = {
    "format": "stockyard.job/1",
    "id": "hall-bench",
    "panels": [
        {
            "id": "top",
            "length": 1200,
            "width": 380,
            "thickness": 24,
            "species": ["spotted gum"],
            "staves": {"min": 2, "max": 4},
            "stave_width": {"min": 70, "max": 160},
        }
    ],
}
MISSING = object()


def changed(document, path, value):
    """A copy of the document with the value at `path` put in, or taken out when MISSING."""
    document = deepcopy(document)
    place = document
    for step in path[:-1]:
        place = place[step]
    if value is MISSING:
        del place[path[-1]]
    elif isinstance(place, list) and path[-1] == len(place):
        place.append(value)
    else:
        place[path[-1]] = value
    return document


def places(error):
    return [fault.where for fault in error.value.faults]


def test_a_stock_is_read_as_it_stands():
    stock = read_stock(json.dumps(STOCK))
    first, second = stock.boards
    assert first.length_mm == 2440
    assert first.value == Decimal("48.2")
    assert first.distortion.spring_mm == 3
    assert first.heart_face is Face.B
    assert first.colour(Face.B) == (50.7, 13.1, 21.9)
    assert first.defects[0].kind is DefectKind.CRACK
    assert first.defects[0].outline == ((310, 40), (455, 52), (455, 55), (310, 43))
    assert (first.defects[0].depth_mm, first.defects[0].opening_mm) == (3, 0.4)
    assert first.defects[1].through
    assert second.moisture_pct is second.heart_face is second.colour_a is None
    assert second.distortion.twist_mm == 0
    assert second.length_mm == 1800.5


def test_text_bytes_and_parsed_documents_read_alike():
    text = json.dumps(STOCK)
    assert read_stock(text) == read_stock(text.encode()) == read_stock(STOCK)
    assert read_stock(b"\xef\xbb\xbf" + text.encode()) == read_stock(STOCK)


def test_money_keeps_every_decimal_of_the_text():
    text = json.dumps(STOCK).replace("48.2", "48.200000000000000000001")
    assert read_stock(text).boards[0].value == Decimal("48.200000000000000000001")


def test_a_defect_without_an_id_is_numbered_after_its_board():
    assert read_stock(STOCK).boards[0].defects[1].id == "SG-0017/2"


def test_a_number_already_taken_is_passed_over():
    document = changed(STOCK, ("boards", 0, "defects", 0, "id"), "SG-0017/2")
    assert [defect.id for defect in read_stock(document).boards[0].defects] == ["SG-0017/2", "SG-0017/3"]


def test_an_outline_closed_by_its_first_point_is_taken_open():
    outline = [[310, 40], [455, 52], [455, 55], [310, 43], [310, 40]]
    stock = read_stock(changed(STOCK, ("boards", 0, "defects", 0, "outline"), outline))
    assert len(stock.boards[0].defects[0].outline) == 4


def test_an_empty_rack_is_a_stock():
    assert read_stock(changed(STOCK, ("boards",), [])).boards == ()


DEFECT = ("boards", 0, "defects", 0)
BOARD = ("boards", 0)


@pytest.mark.parametrize(
    ("path", "value", "where"),
    [
        (("format",), "stockyard.stock/2", "format"),
        (("format",), MISSING, "format"),
        (("currency",), "dollars", "currency"),
        (("currency",), None, "currency"),
        (("boards",), {}, "boards"),
        (("boards",), MISSING, "boards"),
        (("remarks",), "dry", "remarks"),
        (("boards", 1), 7, "boards[1]"),
        (("boards", 1, "id"), "SG-0017", "boards[1].id"),
        ((*BOARD, "id"), 17, "boards[0].id"),
        ((*BOARD, "id"), " ", "boards[0].id"),
        ((*BOARD, "species"), MISSING, "boards[0].species"),
        ((*BOARD, "length"), 0, "boards[0].length"),
        ((*BOARD, "length"), -2440, "boards[0].length"),
        ((*BOARD, "length"), "2440", "boards[0].length"),
        ((*BOARD, "length"), True, "boards[0].length"),
        ((*BOARD, "length"), 10**400, "boards[0].length"),
        ((*BOARD, "length"), float("nan"), "boards[0].length"),
        ((*BOARD, "length"), float("inf"), "boards[0].length"),
        ((*BOARD, "length"), Decimal("sNaN"), "boards[0].length"),
        ((*BOARD, "width"), 5e6, "boards[0].width"),
        ((*BOARD, "width"), 0.4, "boards[0]"),
        ((*BOARD, "thickness"), None, "boards[0].thickness"),
        ((*BOARD, "value"), -1, "boards[0].value"),
        ((*BOARD, "value"), "48.20", "boards[0].value"),
        ((*BOARD, "value"), Decimal("NaN"), "boards[0].value"),
        ((*BOARD, "moisture"), -1, "boards[0].moisture"),
        ((*BOARD, "moisture"), 1120, "boards[0].moisture"),
        ((*BOARD, "distortion", "bow"), -4, "boards[0].distortion.bow"),
        ((*BOARD, "distortion", "crook"), 4, "boards[0].distortion.crook"),
        ((*BOARD, "heart_face"), "both", "boards[0].heart_face"),
        ((*BOARD, "colour", "A"), [52.1, 14.0], "boards[0].colour.A"),
        ((*BOARD, "colour", "A"), [152.1, 14.0, 0], "boards[0].colour.A[0]"),
        ((*BOARD, "colour", "A"), [52.1, None, 0], "boards[0].colour.A[1]"),
        ((*BOARD, "colour", "C"), [52.1, 14.0, 0], "boards[0].colour.C"),
        ((*BOARD, "lenght"), 2440, "boards[0].lenght"),
        ((*BOARD, "defects"), {}, "boards[0].defects"),
        ((*BOARD, "defects"), MISSING, "boards[0].defects"),
        ((*DEFECT, "kind"), "crak", "boards[0].defects[0].kind"),
        ((*DEFECT, "kind"), ["crack"], "boards[0].defects[0].kind"),
        ((*DEFECT, "kind"), MISSING, "boards[0].defects[0].kind"),
        ((*DEFECT, "face"), "C", "boards[0].defects[0].face"),
        ((*DEFECT, "face"), "a", "boards[0].defects[0].face"),
        ((*DEFECT, "note"), "x", "boards[0].defects[0].note"),
        ((*DEFECT, "id"), 3, "boards[0].defects[0].id"),
        ((*DEFECT, "depth"), -1, "boards[0].defects[0].depth"),
        ((*DEFECT, "opening"), "0.4", "boards[0].defects[0].opening"),
        ((*DEFECT, "outline"), MISSING, "boards[0].defects[0].outline"),
        ((*DEFECT, "outline"), [], "boards[0].defects[0].outline"),
        ((*DEFECT, "outline"), [[310, 40], [455, 52]], "boards[0].defects[0].outline"),
        ((*DEFECT, "outline"), "310 40", "boards[0].defects[0].outline"),
        ((*DEFECT, "outline", 1), [455, 520], "boards[0].defects[0].outline[1]"),
        ((*DEFECT, "outline", 1), [455], "boards[0].defects[0].outline[1]"),
        ((*DEFECT, "outline", 1), [455, None], "boards[0].defects[0].outline[1]"),
        ((*DEFECT, "outline", 1), [455, True], "boards[0].defects[0].outline[1][1]"),
        ((*DEFECT, "outline", 1), [float("nan"), 52], "boards[0].defects[0].outline[1][0]"),
        ((*DEFECT, "outline"), [[310, 40], [455, 55], [455, 40], [310, 55]], "boards[0].defects[0].outline"),
        ((*DEFECT, "outline"), [[310, 40], [400, 40], [455, 40]], "boards[0].defects[0].outline"),
        (("boards", 0, "defects", 1, "id"), "SG-0017/1", "boards[0].defects[1].id"),
    ],
)
def test_a_fault_in_a_stock_is_refused_at_its_place(path, value, where):
    with pytest.raises(BadInput) as refused:
        read_stock(changed(STOCK, path, value))
    assert places(refused) == [where]


@pytest.mark.parametrize(
    ("text", "where", "found"),
    [
        ('"length": NaN', "boards[0].length", "nan"),
        ('"length": -Infinity', "boards[0].length", "-inf"),
        ('"length": 1e999', "boards[0].length", "1E+999"),
    ],
)
def test_numbers_that_are_not_finite_are_refused_in_text_too(text, where, found):
    with pytest.raises(BadInput) as refused:
        read_stock(json.dumps(STOCK).replace('"length": 2440', text))
    assert places(refused) == [where]
    assert refused.value.faults[0].found == found


def test_a_value_beyond_any_number_is_refused():
    with pytest.raises(BadInput) as refused:
        read_stock(json.dumps(STOCK).replace('"value": 48.2', '"value": 1e999'))
    assert places(refused) == ["boards[0].value"]


def test_a_key_said_twice_is_refused_at_its_place():
    text = json.dumps(STOCK)
    text = text.replace('"width": 178', '"width": 178, "width": 187')
    text = text.replace('"depth": 3', '"depth": 3, "depth": 4')
    with pytest.raises(BadInput) as refused:
        read_stock(text)
    assert places(refused) == ["boards[0].width", "boards[0].defects[0].depth"]


def test_every_fault_is_reported_at_once():
    document = changed(STOCK, ("boards", 0, "length"), -1)
    document = changed(document, ("boards", 0, "defects", 1, "kind"), "bark")
    document = changed(document, ("boards", 1, "thickness"), "32")
    document["note"] = "x"
    with pytest.raises(BadInput) as refused:
        read_stock(document)
    assert set(places(refused)) == {
        "note",
        "boards[0].length",
        "boards[0].defects[1].kind",
        "boards[1].thickness",
    }


def test_a_crossing_is_named_by_its_point():
    crossing = [[310, 40], [410, 60], [410, 40], [310, 60]]
    with pytest.raises(BadInput) as refused:
        read_stock(changed(STOCK, (*DEFECT, "outline"), crossing))
    assert "(360, 50)" in refused.value.faults[0].found


@pytest.mark.parametrize(
    ("path", "value", "offered"),
    [
        ((*DEFECT, "kind"), "bark_inclusin", "bark_inclusion"),
        ((*DEFECT, "face"), "bot", "both"),
        ((*BOARD, "lenght"), 1, "length"),
    ],
)
def test_a_near_name_is_offered(path, value, offered):
    with pytest.raises(BadInput) as refused:
        read_stock(changed(STOCK, path, value))
    assert f"did you mean {offered}?" in refused.value.faults[0].expected


@pytest.mark.parametrize(
    ("source", "says"),
    [
        ("", "not JSON"),
        ("{", "not JSON"),
        (b"\xff\xfe{\x00", "UTF-8"),
        ("[" * 100_000, "nested too deeply"),
        ('{"boards": ' + "9" * 5000 + "}", "thousands of digits"),
    ],
)
@pytest.mark.parametrize("read", [read_stock, read_job, lambda source: read_plan(source, a_job())])
def test_what_cannot_be_read_at_all_is_said_in_a_sentence(read, source, says):
    with pytest.raises(BadInput, match=says):
        read(source)


@pytest.mark.parametrize("source", ["[]", "7", "null", '"stock"'])
def test_a_document_is_an_object(source):
    with pytest.raises(BadInput) as refused:
        read_stock(source)
    assert refused.value.faults[0].where == "the document"


def test_a_job_left_bare_takes_the_workshops_defaults():
    usual = Job(
        "usual",
        (),
        Allowances(kerf_mm=2),
        MoistureRule(min_pct=7),
        Costs(handling=Decimal(9)),
        Rings.SAME,
        Rules(show={DefectKind.STAIN: Rule(Do.ACCEPT)}),
    )
    job = read_job(JOB, usual)
    assert job == replace(usual, id="hall-bench", panels=(a_panel(),))


def test_settings_merge_figure_by_figure():
    document = JOB | {
        "allowances": {"kerf": 2.5, "offcut": {"width": 60}},
        "moisture": {"max": 12, "unread": "allow"},
        "costs": {"recovery": 0.25},
        "rings": "alternate",
        "rules": {"show": {"crack": {"do": "treat", "per_mm": 0.01, "max_length": 200}}},
    }
    usual = Job("usual", (), rules=Rules(back={DefectKind.CRACK: Rule(Do.ACCEPT)}))
    job = read_job(json.dumps(document), usual)
    assert job.allowances == Allowances(kerf_mm=2.5, offcut_width_mm=60)
    assert job.moisture == MoistureRule(max_pct=12, unread=Unread.ALLOW)
    assert job.costs == Costs(recovery=Decimal("0.25"))
    assert job.rings is Rings.ALTERNATE
    crack = Rule(Do.TREAT, per_mm=Decimal("0.01"), max_length_mm=200)
    assert job.rules == Rules({DefectKind.CRACK: crack}, usual.rules.back)


PANEL = ("panels", 0)


@pytest.mark.parametrize(
    ("path", "value", "where"),
    [
        (("id",), MISSING, "id"),
        (("format",), "stockyard.stock/1", "format"),
        (("stock",), 1, "stock"),
        (("panels",), [], "panels"),
        (("panels", 1), JOB["panels"][0], "panels[1].id"),
        ((*PANEL, "species"), [], "panels[0].species"),
        ((*PANEL, "species"), "spotted gum", "panels[0].species"),
        ((*PANEL, "species"), ["oak", "oak"], "panels[0].species[1]"),
        ((*PANEL, "species"), [None], "panels[0].species[0]"),
        ((*PANEL, "width"), 0, "panels[0].width"),
        ((*PANEL, "thickness"), -24, "panels[0].thickness"),
        ((*PANEL, "staves", "min"), 0, "panels[0].staves.min"),
        ((*PANEL, "staves", "min"), 2.5, "panels[0].staves.min"),
        ((*PANEL, "staves", "min"), True, "panels[0].staves.min"),
        ((*PANEL, "staves", "max"), 1, "panels[0].staves"),
        ((*PANEL, "staves", "max"), None, "panels[0].staves.max"),
        ((*PANEL, "staves"), 3, "panels[0].staves"),
        ((*PANEL, "stave_width", "min"), 170, "panels[0].stave_width"),
        ((*PANEL, "stave_width", "step"), 5, "panels[0].stave_width.step"),
        ((*PANEL, "show"), "two", "panels[0].show"),
        ((*PANEL, "priority"), 0, "panels[0].priority"),
        ((*PANEL, "priority"), "high", "panels[0].priority"),
        (("allowances",), {"kerf": -3}, "allowances.kerf"),
        (("allowances",), {"curf": 3}, "allowances.curf"),
        (("allowances",), {"offcut": 300}, "allowances.offcut"),
        (("allowances",), {"offcut": {"length": True}}, "allowances.offcut.length"),
        (("moisture",), {"min": 15}, "moisture"),
        (("moisture",), {"unread": "maybe"}, "moisture.unread"),
        (("costs",), {"recovery": 1.01}, "costs.recovery"),
        (("costs",), {"recovery": -0.5}, "costs.recovery"),
        (("costs",), {"handling": "4"}, "costs.handling"),
        (("rings",), "none", "rings"),
        (("rules",), {"front": {}}, "rules.front"),
        (("rules",), {"show": {"cracks": {"do": "avoid"}}}, "rules.show.cracks"),
        (("rules",), {"show": {"crack": {}}}, "rules.show.crack.do"),
        (("rules",), {"show": {"crack": {"do": "fill"}}}, "rules.show.crack.do"),
        (("rules",), {"back": {"crack": {"do": "treat", "per_mm": -1}}}, "rules.back.crack.per_mm"),
        (("rules",), {"back": {"crack": {"do": "treat", "limit": 1}}}, "rules.back.crack.limit"),
    ],
)
def test_a_fault_in_a_job_is_refused_at_its_place(path, value, where):
    with pytest.raises(BadInput) as refused:
        read_job(changed(JOB, path, value))
    assert places(refused) == [where]


def test_a_job_reads_back_from_its_own_document():
    job = a_job(
        a_panel(show=Show.BOTH, priority=2, species=("oak", "ash")),
        a_panel(id="shelf", length_mm=800.5),
        allowances=Allowances(face_planing_mm=1.25),
        rings=Rings.ALTERNATE,
        rules=Rules(
            {DefectKind.CRACK: Rule(Do.TREAT, Decimal("2.5"), Decimal("0.01"), 200, 3000.5)},
            {DefectKind.STAIN: Rule(Do.ACCEPT, penalty=Decimal(3)), DefectKind.DECAY: Rule()},
        ),
    )
    assert read_job(json.dumps(job_document(job)), Job("", (), Allowances(kerf_mm=9))) == job


def test_a_stock_reads_back_from_its_own_document():
    stock = read_stock(STOCK)
    assert read_stock(json.dumps(stock_document(stock))) == stock


tenths = st.integers(0, 900).map(lambda n: n / 10)


@settings(max_examples=60, deadline=None)
@given(
    st.integers(901, 50_000).map(lambda n: n / 10),
    st.integers(0, 10**9).map(lambda n: Decimal(n) / 100),
    st.sampled_from(Face),
    st.sampled_from(DefectKind),
    st.none() | tenths,
    st.tuples(tenths, tenths),
)
def test_whatever_the_figures_a_stock_reads_back(length, value, face, kind, depth, corner):
    defect = a_defect(
        kind=kind,
        face=face,
        depth_mm=depth,
        outline=a_box(*corner, corner[0] + 0.1, corner[1] + 7),
    )
    board = a_board(length_mm=length + 1, value=value, moisture_pct=depth, defects=(defect,))
    assert read_stock(json.dumps(stock_document(Stock((board,))))) == Stock((board,))


def test_a_plan_reads_back_from_its_own_document():
    plan, stock = a_lawful_case()
    assert read_plan(json.dumps(plan_document(plan)), plan.job) == plan
    assert read_plan(json.dumps(plan_document(plan, stock)), plan.job) == plan


def test_a_plans_own_settings_are_read_not_todays():
    plan, _ = a_lawful_case()
    today = replace(plan.job, allowances=Allowances(kerf_mm=9), rules=Rules())
    assert read_plan(json.dumps(plan_document(plan)), today).job == plan.job


def test_a_plan_says_where_a_treated_defect_lies_in_both_frames():
    plan, stock = a_lawful_case()
    first, _ = plan_document(plan, stock)["panels"][0]["staves"]
    (crack,) = first["treat"]
    # Its stave's finished window is x 40 to 1240, y 5 to 135, laid showing A and not turned.
    assert crack["kind"] == "crack"
    assert crack["in_board"] == {"x0": 300, "y0": 80, "x1": 400, "y1": 84}
    assert crack["in_panel"] == {"x0": 260, "y0": 75, "x1": 360, "y1": 79}
    assert crack["quantity"] == {"length": 100, "area": 400}


def test_money_in_a_plan_is_a_number_to_a_millionth():
    plan, _ = a_lawful_case()
    part = replace(plan.cost_parts, match=Decimal("1.23456789"))
    assert plan_document(replace(plan, cost_parts=part))["cost_parts"]["match"] == 1.234568


@pytest.mark.parametrize(
    ("path", "value", "where"),
    [
        (("job",), "other", "job"),
        (("status",), "best", "status"),
        (("cost",), 1, "cost"),
        (("allowances",), MISSING, "allowances"),
        (("panels", 0, "id"), "shelf", "panels[0].id"),
        (("panels", 0, "made"), False, "panels[0].made"),
        (("panels", 0, "staves", 0, "turned"), 0, "panels[0].staves[0].turned"),
        (("panels", 0, "staves", 0, "rough", "x0"), 1.5, "panels[0].staves[0].rough.x0"),
        (("panels", 0, "staves", 0, "rough", "x0"), 9000, "panels[0].staves[0].rough"),
        (("boards", 0, "sections", 0, "strips", 0, "use"), "scrap", "boards[0].sections[0].strips[0].use"),
        (("boards", 0, "offcuts", 0, "value"), "1", "boards[0].offcuts[0].value"),
    ],
)
def test_a_fault_in_a_plan_is_refused_at_its_place(path, value, where):
    plan, _ = a_lawful_case()
    with pytest.raises(BadInput) as refused:
        read_plan(changed(plan_document(plan), path, value), plan.job)
    assert places(refused) == [where]
