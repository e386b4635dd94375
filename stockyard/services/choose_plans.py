"""Offer several good plans for a job, from the yard or from files."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from stockyard.selection import plan_document
from stockyard.selection.answers.choices import Choice, Choices, choices_of
from stockyard.selection.interchange import stock_document
from stockyard.selection.wishes import NO_WISHES, Wishes
from stockyard.services.problem import NOTHING_ASKED, Asked, Problem, problem_in_yard, wishes_of
from stockyard.timber import Plan

if TYPE_CHECKING:
    from stockyard.records import OpenWork

__all__ = ["Choice", "Choices", "KeptChoices", "choose_plans", "choose_plans_in_yard", "documents_of"]


@dataclass(frozen=True)
class KeptChoices:
    """Choices, each kept in the yard as a proposed plan. numbers: of their plans, in the same order."""

    problem: Problem
    choices: Choices
    numbers: tuple[int, ...]


def choose_plans(
    problem: Problem,
    count: int,
    *,
    seconds: float = 30.0,
    wishes: Wishes = NO_WISHES,
    on_plan: Callable[[Plan], bool | None] | None = None,
) -> Choices:
    """Up to `count` really different plans, cheapest first, and what each costs more."""
    return choices_of(
        problem.stock,
        problem.job,
        count,
        received=problem.received,
        seconds=seconds,
        wishes=wishes,
        on_plan=on_plan,
    )


def documents_of(choices: Choices, problem: Problem) -> list[dict[str, Any]]:
    """Each choice as a stockyard.plan/1, with its aims, what it costs more and its counts."""
    return [
        {
            "aims": choice.aims,
            "more": choice.more,
            "counts": dict(choice.counts),
            "proved": choice.proved,
            "document": plan_document(choice.plan, problem.stock),
        }
        for choice in choices.choices
    ]


def choose_plans_in_yard(
    open_work: "OpenWork",
    name: str,
    count: int,
    *,
    seconds: float = 30.0,
    asked: Asked = NOTHING_ASKED,
    on_plan: Callable[[Plan], bool | None] | None = None,
) -> KeptChoices:
    """Choices for a kept job, each kept as a proposed plan.

    asked: boards to pin, forbid and prefer. on_plan: told of each plan found; True stops the search.

    Raises NotFound for no such job, BadInput for wishes that cannot be meant.
    """
    problem = problem_in_yard(open_work, name)
    choices = choose_plans(problem, count, seconds=seconds, wishes=wishes_of(problem, asked), on_plan=on_plan)
    with open_work() as work:
        numbers = tuple(
            work.plans.add(
                name,
                plan_document(choice.plan, problem.stock),
                stock_document(problem.stock),
                {cut.id: problem.versions[cut.id] for cut in choice.plan.boards},
            ).number
            for choice in choices.choices
        )
        work.commit()
    return KeptChoices(problem, choices, numbers)
