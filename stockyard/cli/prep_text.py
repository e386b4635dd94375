"""A bench sheet and a quote as a person reads them in 80 columns."""

from typing import TYPE_CHECKING

from stockyard.cli.show import say, table
from stockyard.prep.cautions import CAUTIONS

if TYPE_CHECKING:
    from stockyard.services.prepare_plan import PreparedPlan
    from stockyard.services.quote_job import QuotedJob


def print_sheet(prepared: "PreparedPlan") -> None:
    """The bench sheet: notes, treatments, each panel, the order of work, cautions."""
    sheet, booked = prepared.sheet, prepared.booked
    say(f"Bench sheet of plan {booked.number} for {booked.job}, {booked.status.value}")
    for note in prepared.notes:
        say(f"  {note}")
    if prepared.done:
        say(f"  Treated already: {', '.join(prepared.done)}.")
    say()
    _print_treatments(prepared)
    for panel in sheet.panels:
        say()
        say(f"Panel {panel.panel}, {panel.finish_m2:.2f} m2 to finish")
        table(
            (">stave", "of board", "mark", "lies", "low edge", "high edge"),
            (
                (mark.number, mark.board, mark.face, mark.end, _edge(mark.low_edge), _edge(mark.high_edge))
                for mark in panel.marks
            ),
        )
        _print_joints(prepared, panel.panel)
        for stage, one in enumerate(panel.glue_ups, start=1):
            which = ", ".join(str(place + 1) for place in one.staves)
            say(
                f"  glue-up {stage}: staves {which}, {one.width_mm:g} mm wide; {one.force_n / 1000:.1f} kN:"
                f" {one.clamps} clamps, {one.pitch_mm:.0f} mm apart; {one.glue_g:.0f} g of glue;"
                f" {one.cauls} cauls"
            )
            for note in one.notes:
                say(f"    {note}")
    say()
    say("Order of work")
    table(
        (">", ">begins", ">min", "step", "what", ">then wait"),
        (
            (
                place,
                f"{step.begins:%a %d %b %H:%M}",
                f"{step.step.minutes:.0f}",
                step.step.name,
                step.step.does,
                f"{step.step.wait_hours:g} h" if step.step.wait_hours else None,
            )
            for place, step in enumerate(sheet.steps, start=1)
        ),
    )
    if sheet.steps:
        say(f"Ready to use from {sheet.steps[-1].free_at:%A %d %B %Y, %H:%M}.")
    say(f"Figures: {prepared.figures}. Marks beside a joint's centre are common practice.")
    say()
    say("Cautions")
    named = {text: hazard for hazard, text in CAUTIONS.items()}
    for caution in sheet.cautions:
        say(f"  {named[caution].value}: {caution}" if caution in named else f"  {caution}")


def print_quote(quoted: "QuotedJob") -> None:
    """The quote line by line, its sums, and what it assumes."""
    quote = quoted.quote
    whose = f" from plan {quoted.plan.number}" if quoted.plan else ""
    say(f"Quote for {quoted.job}{whose}, in {quote.currency}")
    table(
        ("", f">{quote.currency}", "how"),
        [
            *((line.what, line.amount, line.how) for line in quote.lines),
            ("cost", quote.cost, ""),
            ("profit", quote.profit, quote.assumes[0].rstrip(".")),
            ("price without tax", quote.price, ""),
            ("tax", quote.tax, ""),
            ("total", quote.total, ""),
        ],
    )
    say("It assumes:")
    for line in (*quote.assumes, *quoted.notes):
        say(f"  {line}")


def _print_treatments(prepared: "PreparedPlan") -> None:
    needs = prepared.sheet.treatments
    if not needs:
        say("No flaw is left to treat.")
        return
    say("Treatments")
    for need in needs:
        when = "before jointing" if need.before_jointing else "after glue-up"
        say(
            f"  {need.defect} (panel {need.panel}, stave {need.stave + 1}): {need.kind.value} {when} with"
            f" {need.product}; then {need.hours:g} h"
        )
        amount = f"{need.volume_ml:.2f} mL"
        if need.mix is not None:
            amount = (
                f"void {need.mix.void_ml:.1f} mL; mix {need.mix.total_ml:.1f} mL:"
                f" {need.mix.resin_ml:.1f} resin, {need.mix.hardener_ml:.1f} hardener"
            )
        say(f"    {amount}. {need.instructions}")
        for note in need.notes:
            say(f"    {note}")


def _print_joints(prepared: "PreparedPlan", panel: str) -> None:
    sheet = next(each for each in prepared.sheet.panels if each.panel == panel)
    habits = prepared.habits.joints
    for line in sheet.joints:
        between = f"{line.between[0] + 1} and {line.between[1] + 1}"
        if line.joints:
            centres = ", ".join(f"{joint.centre_mm:.0f}" for joint in line.joints)
            marks = f", marks {habits.marks_mm:g} mm to each side" if habits.marks_mm else ""
            say(f"  {habits.kind.value}s between {between}, mm from the first finished end{marks}:")
            say(f"    {centres}")
        for a, b in line.stretches:
            say(f"  groove between {between}: {a:.0f} to {b:.0f} mm from the first finished end")
        for note in line.notes:
            say(f"    {note}")


def _edge(text: str) -> str:
    return text if text == "outer" else f"to stave {text}"
