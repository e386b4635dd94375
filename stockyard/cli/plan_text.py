"""A plan as a person reads it in 80 columns."""

from collections.abc import Mapping
from decimal import Decimal

from stockyard.cli.show import say, table
from stockyard.timber import Board, Plan, Status, StripUse

_PARTS = ("timber", "handling", "offcuts", "treatments", "appearance", "match", "rings")
_SAID = {
    Status.OPTIMAL: "proved best: no lawful plan costs less",
    Status.FEASIBLE: "lawful, not proved best",
    Status.INFEASIBLE: "no panel can be made from this stock",
}


def print_plan(plan: Plan, boards: Mapping[str, Board]) -> None:
    """Panels, cuts, cost and the boards left out."""
    for made in plan.panels:
        panel = next(each for each in plan.job.panels if each.id == made.id)
        say()
        if not made.made:
            say(f"Panel {made.id}: not made. {made.why}")
            continue
        say(f"Panel {made.id}, {panel.length_mm:g} x {panel.width_mm:g} x {panel.thickness_mm:g} mm")
        table(
            (">stave", "board", ">from end 1", ">from edge 1", ">width", "shows", "lies", "defects"),
            (
                (
                    place + 1,
                    stave.board,
                    f"{stave.finished.x0} to {stave.finished.x1}",
                    f"{stave.finished.y0} to {stave.finished.y1}",
                    stave.finished.width_mm,
                    stave.show.value,
                    "turned" if stave.turned else "as it is",
                    "; ".join(
                        [f"{each.method} on {_own(each.defect)}" for each in stave.treat]
                        + [f"{_own(defect)} stays" for defect in stave.accept]
                    ),
                )
                for place, stave in enumerate(made.staves)
            ),
        )
    if plan.boards:
        say()
        _print_cuts(plan, boards)
    say()
    print_cost(plan)
    if plan.rejected:
        say()
        say(f"{len(plan.rejected)} boards can serve no panel, by what keeps them out:")
        for line in _rejections(plan):
            say(f"  {line}")
        say("--json gives each board its reasons; `stockyard why` says what would let one in.")


def print_cost(plan: Plan) -> None:
    """The parts of the cost, in cents that add up, and how good the plan is known to be."""
    from stockyard.measures.rounding import adding_up

    parts = [getattr(plan.cost_parts, name) for name in _PARTS]
    shown = adding_up(parts, 2)
    for name, amount in zip(_PARTS, shown, strict=True):
        if amount:
            say(f"  {name:<12}{amount:>12,}")
    say(f"  {'cost':<12}{sum(shown, Decimal(0)):>12,} {plan.currency}, {_SAID[plan.status]}")
    if plan.status is Status.FEASIBLE:
        say(f"  {'at least':<12}{plan.bound:>12,.2f} (gap {plan.gap:.1%})")


def _own(defect: str) -> str:
    """A defect's number within its board: the board stands in the same row already."""
    return f"defect {defect.rpartition('/')[2] or defect}"


def _print_cuts(plan: Plan, boards: Mapping[str, Board]) -> None:
    rows = []
    for cut in plan.boards:
        for number, section in enumerate(cut.sections):
            strips = ", ".join(
                f"{strip.y0}-{strip.y1} "
                + (
                    f"{strip.panel} {(strip.stave or 0) + 1}"
                    if strip.use is StripUse.STAVE
                    else strip.use.value
                )
                for strip in section.strips
            )
            rows.append((cut.id if number == 0 else "", f"{section.x0} to {section.x1}", strips))
        for offcut in cut.offcuts:
            w = offcut.window
            rows.append(
                ("", f"{w.x0} to {w.x1}", f"offcut {w.length_mm} x {w.width_mm}, {offcut.value:,.2f}")
            )
    table(("board", ">dock at", "rip at (mm from edge 1)"), rows)


def _rejections(plan: Plan) -> list[str]:
    """Boards by the reasons that keep them out; of a lone board, the reasons in full."""
    groups: dict[tuple[str, ...], list[str]] = {}
    for rejection in plan.rejected:
        words = tuple(sorted({reason.why.replace("_", " ") for reason in rejection.reasons}))
        groups.setdefault(words, []).append(rejection.id)
    details = {
        rejection.id: "; ".join(dict.fromkeys(reason.detail for reason in rejection.reasons))
        for rejection in plan.rejected
    }
    return [
        f"{', '.join(words)}: {', '.join(boards)}"
        + (f" ({details[boards[0]]})" if len(boards) == 1 and len(words) == 1 else "")
        for words, boards in sorted(groups.items(), key=lambda group: (len(group[0]), group[0]))
    ]
