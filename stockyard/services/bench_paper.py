"""A bench sheet put into headings, lists and paragraphs for printing."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from stockyard.drawings.written import Block, Field, Heading, Listing, Paragraph, Signing
from stockyard.prep.cautions import CAUTIONS
from stockyard.prep.treatment import TreatmentNeed

if TYPE_CHECKING:
    from stockyard.prep.bench import PanelSheet
    from stockyard.services.prepare_plan import PreparedPlan


def bench_blocks(prepared: "PreparedPlan") -> list[Block]:
    """What to do at the bench, in the order in which it is done, with boxes to tick."""
    return [
        *_cautions(prepared),
        *_treatments(prepared),
        *(block for panel in prepared.sheet.panels for block in _panel(prepared, panel)),
        *_order_of_work(prepared),
        Paragraph(f"Figures: {prepared.figures}. Marks beside a joint's centre are common practice."),
        Signing(("done by", "date", "glue: product and batch", "filler: product and batch")),
    ]


def _cautions(prepared: "PreparedPlan") -> Iterator[Block]:
    # First, where they are read before anything is done.
    if not prepared.sheet.cautions:
        return
    yield Heading("Before you begin")
    named = {text: hazard.value for hazard, text in CAUTIONS.items()}
    yield Listing(
        (Field("what can hurt", 34, bold=True), Field("what to do", 150)),
        [(named.get(caution, ""), caution) for caution in prepared.sheet.cautions],
    )
    for note in prepared.notes:
        yield Paragraph(note, indent_mm=3)
    if prepared.done:
        yield Paragraph(f"Treated already: {', '.join(prepared.done)}.", indent_mm=3)


def _treatments(prepared: "PreparedPlan") -> Iterator[Block]:
    needs = prepared.sheet.treatments
    yield Heading("Flaws to treat")
    if not needs:
        yield Paragraph("No flaw is left to treat.")
        return
    yield Listing(
        (
            Field("flaw", 20, bold=True),
            Field("panel, stave", 20),
            Field("from", 13),
            Field("when", 18),
            Field("with what, how much, how", 73),
            Field("then wait", 12, right=True),
        ),
        [
            (
                need.defect,
                f"{need.panel}, {need.stave + 1}",
                f"face {need.side.value}",
                "before jointing" if need.before_jointing else "after glue-up",
                f"{need.kind.value} with {need.product}: {_amount(need)}. {need.instructions}"
                + "".join(f" {note}" for note in need.notes),
                f"{need.hours:g} h",
            )
            for need in needs
        ],
        tick=True,
    )


def _amount(need: TreatmentNeed) -> str:
    if need.mix is None:
        return f"{need.volume_ml:.2f} mL"
    mix = need.mix
    return (
        f"void {mix.void_ml:.1f} mL; mix {mix.total_ml:.1f} mL, {mix.resin_ml:.1f} of resin and"
        f" {mix.hardener_ml:.1f} of hardener"
    )


def _panel(prepared: "PreparedPlan", panel: "PanelSheet") -> Iterator[Block]:
    yield Heading(f"Panel {panel.panel}")
    yield Listing(
        (
            Field("stave", 9, bold=True),
            Field("of board", 24, bold=True),
            Field("mark", 20),
            Field("lies", 20),
            Field("low edge", 20),
            Field("high edge", 20),
        ),
        [
            (
                str(mark.number),
                mark.board,
                mark.face,
                mark.end,
                _edge(mark.low_edge),
                _edge(mark.high_edge),
            )
            for mark in panel.marks
        ],
        tick=True,
    )
    rows = [
        (
            f"{line.between[0] + 1} and {line.between[1] + 1}",
            prepared.habits.joints.kind.value,
            ", ".join(
                [f"{joint.centre_mm:.0f}" for joint in line.joints]
                + [f"groove {a:.0f} to {b:.0f}" for a, b in line.stretches]
            )
            or "none",
            " ".join(line.notes),
        )
        for line in panel.joints
        if line.joints or line.stretches or line.notes
    ]
    marks = prepared.habits.joints.marks_mm
    beside = f", marks {marks:g} to each side" if marks and any(line.joints for line in panel.joints) else ""
    yield Listing(
        (
            Field("glue line", 15, bold=True),
            Field("joint", 13),
            Field(f"centres from the first finished end, mm{beside}", 70),
            Field("notes", 40),
        ),
        rows,
        tick=True,
    )
    yield Listing(
        (
            Field("glue-up", 30, bold=True),
            Field("width, mm", 14, right=True),
            Field("force, kN", 14, right=True),
            Field("clamps", 11, right=True),
            Field("apart, mm", 14, right=True),
            Field("glue, g", 11, right=True),
            Field("cauls", 10, right=True),
            Field("notes", 46),
        ),
        [
            (
                f"staves {', '.join(str(place + 1) for place in one.staves)}",
                f"{one.width_mm:g}",
                f"{one.force_n / 1000:.1f}",
                str(one.clamps),
                f"{one.pitch_mm:.0f}",
                f"{one.glue_g:.0f}",
                str(one.cauls),
                " ".join(one.notes),
            )
            for one in panel.glue_ups
        ],
        tick=True,
    )


def _order_of_work(prepared: "PreparedPlan") -> Iterator[Block]:
    steps = prepared.sheet.steps
    yield Heading("Order of work")
    yield Listing(
        (
            Field("begins", 25),
            Field("min", 7, right=True),
            Field("step", 21, bold=True),
            Field("what", 70),
            Field("then wait", 42),
        ),
        [
            (
                f"{step.begins:%a %d %b %H:%M}",
                f"{step.step.minutes:.0f}",
                step.step.name,
                step.step.does,
                f"{step.step.wait_hours:g} h: {step.step.why_wait}" if step.step.wait_hours else "",
            )
            for step in steps
        ],
        tick=True,
    )
    if steps:
        yield Paragraph(f"Ready to use from {steps[-1].free_at:%A %d %B %Y, %H:%M}.", bold=True)


def _edge(text: str) -> str:
    return text if text == "outer" else f"to stave {text}"
