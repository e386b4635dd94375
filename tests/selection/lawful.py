"""A plan worked out by hand, lawful in every respect, with one of each thing a plan can hold.

One top, 1200 x 250 mm, two staves of 130 and 120 mm. Allowances are the usual ones, and offcuts count from
300 x 30 mm.

Board one (2400 x 180 x 32, worth 48.00, 3 mm of spring): the first stave, finished x 40 to 1240, y 5 to 135.
Its low edge is outer (5 for trimming), its high edge glued (3 for jointing, and 1 for straightening, since
3 * (1220 / 2400)^2 = 0.775): rough x 30 to 1250, y 0 to 139. It holds a crack to be treated, 100 mm long, at
2.00 + 100 * 0.01 = 3.00, and a through knot that is accepted, at 1.50 in sight. Ripping leaves y 142 to 180,
an offcut 1220 x 38; docking leaves x 0 to 27, too short, and x 1253 to 2400, an offcut in which decay covers
100 x 40.

Board two (1300 x 137, worth 20.00): the second stave shows B and is turned, so that it lies the way it grew:
rough x 30 to 1250, y 9 to 137, finished x 40 to 1240, y 12 to 132. Ripping leaves y 0 to 6, waste; docking
x 0 to 27 and 1253 to 1300, too short.
"""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from stockyard.measures.colour import colour_difference
from stockyard.timber import (
    Allowances,
    BoardCut,
    CostParts,
    Costs,
    DefectKind,
    Distortion,
    Do,
    Face,
    MadePanel,
    Offcut,
    Plan,
    Reason,
    Rejection,
    Rings,
    Rule,
    Rules,
    Section,
    Status,
    Stave,
    Stock,
    Strip,
    StripUse,
    Treatment,
    Window,
)
from tests.builders import a_board, a_box, a_defect, a_job, a_panel

PALE, DARK = (60.0, 12.0, 24.0), (50.0, 14.0, 22.0)


def millionths(amount):
    """An amount as a plan states it."""
    return Decimal(round(Fraction(amount) * 1_000_000)).scaleb(-6)


def a_lawful_case():
    """The plan, and the stock it is made from."""
    crack = a_defect(id="one/1", outline=a_box(300, 80, 400, 84))
    knot = a_defect(id="one/2", kind=DefectKind.SOUND_KNOT, face=Face.BOTH, outline=a_box(900, 20, 930, 50))
    decay = a_defect(id="one/3", kind=DefectKind.DECAY, face=Face.B, outline=a_box(2000, 20, 2100, 60))
    shallow = a_defect(id="one/4", kind=DefectKind.STAIN, depth_mm=1.5, outline=a_box(500, 20, 600, 50))
    one = a_board(
        id="one",
        distortion=Distortion(bow_mm=4, spring_mm=3, cup_mm=1, twist_mm=2),
        heart_face=Face.B,
        colour_a=PALE,
        defects=(crack, knot, decay, shallow),
    )
    two = a_board(
        id="two",
        length_mm=1300,
        width_mm=137,
        value=Decimal("20.00"),
        moisture_pct=12.5,
        heart_face=Face.B,
        colour_b=DARK,
    )
    promised = a_board(id="three")
    stock = Stock((one, two, promised), reserved={"three": "promised to plan 12"})

    job = a_job(
        a_panel(width_mm=250, staves_max=3),
        allowances=Allowances(offcut_width_mm=30),
        costs=Costs(
            handling=Decimal(4), recovery=Decimal("0.5"), match=Decimal("0.2"), ring_break=Decimal(1)
        ),
        rings=Rings.SAME,
        rules=Rules(
            show={
                DefectKind.CRACK: Rule(
                    Do.TREAT, Decimal("2.00"), Decimal("0.01"), max_length_mm=200, max_area_mm2=3000
                ),
                DefectKind.SOUND_KNOT: Rule(Do.ACCEPT, penalty=Decimal("1.50")),
            },
            back={DefectKind.SOUND_KNOT: Rule(Do.ACCEPT)},
        ),
    )
    staves = (
        Stave(
            "one",
            Face.A,
            False,
            finished=Window(40, 5, 1240, 135),
            rough=Window(30, 0, 1250, 139),
            treat=(Treatment("one/1", "thin cyanoacrylate", Decimal("3.00")),),
            accept=("one/2",),
        ),
        Stave("two", Face.B, True, finished=Window(40, 12, 1240, 132), rough=Window(30, 9, 1250, 137)),
    )
    whole = Fraction(2400 * 180)
    strip_value = Fraction(24 * 1220 * 38) / whole
    end_value = Fraction(24 * (1147 * 180 - 100 * 40)) / whole
    cuts = (
        BoardCut(
            "one",
            (
                Section(
                    30,
                    1250,
                    (
                        Strip(StripUse.STAVE, 0, 139, "top", 0),
                        Strip(StripUse.OFFCUT, 142, 180),
                    ),
                ),
            ),
            (
                Offcut(Window(1253, 0, 2400, 180), millionths(end_value)),
                Offcut(Window(30, 142, 1250, 180), millionths(strip_value)),
            ),
        ),
        BoardCut(
            "two",
            (
                Section(
                    30,
                    1250,
                    (
                        Strip(StripUse.WASTE, 0, 6),
                        Strip(StripUse.STAVE, 9, 137, "top", 1),
                    ),
                ),
            ),
            (),
        ),
    )
    parts = CostParts(
        timber=Decimal("68.00"),
        handling=Decimal(8),
        offcuts=-millionths(end_value + strip_value),
        treatments=Decimal("3.00"),
        appearance=Decimal("1.50"),
        match=millionths(Decimal("0.2") * Decimal(colour_difference(PALE, DARK))),
        rings=Decimal(1),  # one shows its far side of the heart, two its near side
    )
    plan = Plan(
        job=job,
        currency="AUD",
        status=Status.OPTIMAL,
        cost_parts=parts,
        bound=parts.total,
        seconds=0.4,
        panels=(MadePanel("top", staves),),
        boards=cuts,
        rejected=(Rejection("three", (Reason("reserved", None, "promised to plan 12"),)),),
    )
    return plan, stock


def with_stave(plan, place, **changes):
    """The plan with a stave of its first panel changed."""
    staves = list(plan.panels[0].staves)
    staves[place] = replace(staves[place], **changes)
    return replace(plan, panels=(replace(plan.panels[0], staves=tuple(staves)), *plan.panels[1:]))


def with_cut(plan, place, **changes):
    """The plan with the cutting of one board changed."""
    cuts = list(plan.boards)
    cuts[place] = replace(cuts[place], **changes)
    return replace(plan, boards=tuple(cuts))


def with_section(plan, place, **changes):
    """The plan with the first section of one board changed."""
    first, *others = plan.boards[place].sections
    return with_cut(plan, place, sections=(replace(first, **changes), *others))


def with_board(stock, board_id, **changes):
    """The stock with one board changed."""
    return replace(
        stock,
        boards=tuple(replace(board, **changes) if board.id == board_id else board for board in stock.boards),
    )
