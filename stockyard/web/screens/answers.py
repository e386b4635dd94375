"""Answers: which boards suit a panel, and plans to choose from side by side."""

from dataclasses import dataclass
from typing import Any

from fastapi.responses import Response

from stockyard.errors import NotFound
from stockyard.services.errands import show_errand
from stockyard.services.plan_job import KeptPlan, show_plan
from stockyard.timber.errand import Errand
from stockyard.web.api.routes import Whole
from stockyard.web.plan_words import ToldPanel, costs_of, proof_of, told_panels
from stockyard.web.screen import Screen
from stockyard.web.texts import text
from stockyard.web.visit import Here, Visit

screen = Screen("answers")

_SMALL_PX = 480


@dataclass(frozen=True, slots=True)
class Offered:
    """A plan to choose. look: its first panel, as it will look; None where it makes none."""

    kept: KeptPlan
    told: dict[str, Any]
    look: ToldPanel | None
    proof: str


@screen.page("/suits/{number}")
def suits(visit: Here, number: Whole) -> Response:
    """Which boards suit a panel, what each adds, and what every other would need."""
    found, result = _result(visit, number, "suits")
    unsuited = [each for each in result["unsuited"] if "species" not in each["kind"]]
    foreign = sorted(each["board"] for each in result["unsuited"] if "species" in each["kind"])
    return visit.page(
        "suits.html", errand=found, answer=result, unsuited=[(each, _needs(each)) for each in unsuited],
        foreign=foreign,
    )  # fmt: skip


@screen.page("/choices/{number}")
def choices(visit: Here, number: Whole) -> Response:
    """Plans side by side, and what each costs more than the cheapest."""
    found, result = _result(visit, number, "choices")
    offered = []
    for told in result["choices"]:
        kept = show_plan(visit.open_work, int(told["plan"]))
        first = next((made.id for made in kept.plan.panels if made.made), None)
        looks = told_panels(visit.open_work, kept, longest_px=_SMALL_PX, only=first) if first else ()
        offered.append(Offered(kept, told, looks[0] if looks else None, proof_of(kept)))
    parts = list(dict.fromkeys(part for each in offered for part, _ in costs_of(each.kept)[0]))
    return visit.page(
        "choices.html",
        errand=found,
        answer=result,
        offered=offered,
        parts=[(part, [dict(costs_of(each.kept)[0]).get(part) for each in offered]) for part in parts],
    )


def _needs(each: dict[str, Any]) -> str:
    """The least change that would let a board in, in a sentence; "" where nothing tried would."""
    if not each["remedies"]:
        return ""
    facts = ", ".join(said for said in each["remedies"][0] if not said.startswith("if "))
    ifs = " and ".join(said for said in each["remedies"][0] if said.startswith("if "))
    if not ifs:
        return text("answers.lacks", facts=facts)
    if not facts:
        return text("answers.would", change=ifs)
    return text("answers.lacks_and_would", facts=facts, change=ifs)


def _result(visit: Visit, number: int, kind: str) -> tuple[Errand, dict[str, Any]]:
    found = show_errand(visit.open_work, number)
    if found.kind != kind or not found.result:
        raise NotFound("answer", str(number))
    return found, dict(found.result)
