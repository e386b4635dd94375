"""Job: its panels and rules, entered or uploaded; which boards suit them; selecting for it."""

import json
from typing import TYPE_CHECKING
from urllib.parse import quote

from fastapi.responses import Response

from stockyard.errors import BadInput, ChangedMeanwhile
from stockyard.services.jobs import add_job, list_jobs, show_job, usual_job
from stockyard.services.keep_species import list_species
from stockyard.services.plan_job import list_plans, plan_heads
from stockyard.web.api.jobs import Name
from stockyard.web.forms import Form
from stockyard.web.job_form import (
    ALLOWANCES,
    COSTS,
    FIGURES,
    KINDS,
    MOISTURE,
    JobForm,
    document_in,
    empty_form,
    form_of,
    typed_form,
    usual_values,
    wrong_in,
)
from stockyard.web.pages import words
from stockyard.web.plan_words import cost_of_document
from stockyard.web.screen import Screen
from stockyard.web.texts import text
from stockyard.web.visit import Here, Visit
from stockyard.web.wishes_form import seconds_in, wishes_in

if TYPE_CHECKING:
    from collections.abc import Sequence

    from stockyard.errors import Fault

screen = Screen("job", "/jobs")


@screen.page("/jobs")
def jobs(visit: Here) -> Response:
    """Every job, and how far each has come."""
    return _list(visit)


@screen.action("/jobs/file")
def upload(visit: Here, form: Form) -> Response:
    """Keep a job that comes as a stockyard.job/1 file."""
    try:
        given = form.file("file", required=True)
        form.check(text("job.not_kept"))
        assert given is not None
        booked = add_job(visit.open_work, given[1])
    except BadInput as refused:
        return _list(visit, refused.faults or _as_fault(refused), status=422)
    return visit.see_other(_path(booked.name), said=_kept(booked.name, booked.version))


@screen.page("/jobs/new")
def new(visit: Here) -> Response:
    """A job to be entered."""
    return _form_page(visit, empty_form())


@screen.page("/job/{name}/change")
def change(visit: Here, name: Name) -> Response:
    """A kept job to be changed."""
    booked, _ = show_job(visit.open_work, name)
    return _form_page(visit, form_of(booked.document, booked.version, visit.ways))


@screen.action("/jobs")
def keep(visit: Here, form: Form) -> Response:
    """Keep what was entered, or give more rows to enter."""
    more = form.text("more")
    if more:
        grown = typed_form(form, more_panels=int(more == "panel"), more_rules=3 * int(more == "rule"))
        return _form_page(visit, grown)
    typed = typed_form(form)
    try:
        document = document_in(form)
        booked = add_job(visit.open_work, json.dumps(document).encode(), seen=typed.version)
    except BadInput as refused:
        return _form_page(visit, typed, refused.faults or _as_fault(refused), status=422)
    except ChangedMeanwhile as refused:
        return _form_page(visit, typed, _as_fault(refused), status=409)
    return visit.see_other(_path(booked.name), said=_kept(booked.name, booked.version))


@screen.page("/job/{name}")
def job(visit: Here, name: Name) -> Response:
    """One job: what it asks for, what boards suit, its plans, and selecting."""
    booked, read = show_job(visit.open_work, name)
    plans = sorted(list_plans(visit.open_work, name), key=lambda plan: -plan.number)
    rules = [
        (face, words(kind), rule)
        for face, said in (("show", read.rules.show), ("back", read.rules.back))
        for kind, rule in said.items()
    ]
    return visit.page(
        "job.html",
        job=booked,
        read=read,
        path=_path(name),
        rules=rules,
        plans=[(plan, cost_of_document(plan.document)) for plan in plans],
        values=usual_values(read),
    )


@screen.page("/job/{name}/job.json")
def document(visit: Here, name: Name) -> Response:
    """The job as it was kept, as a stockyard.job/1 file."""
    booked, _ = show_job(visit.open_work, name)
    content = json.dumps(dict(booked.document), indent=1, ensure_ascii=False, allow_nan=False)
    named = {"Content-Disposition": f"attachment; filename*=UTF-8''{quote(name, safe='')}.json"}
    return Response(content + "\n", media_type="application/json", headers=named)


@screen.action("/job/{name}/select")
def select(visit: Here, name: Name, form: Form) -> Response:
    """Select boards, keeping to what is wished for; or search for several good plans."""
    show_job(visit.open_work, name)
    wanted = {"job": name, **wishes_in(form), "seconds": seconds_in(form)}
    if form.text("choices"):
        errand = visit.ask_for("choices", wanted | {"count": 4})
    else:
        errand = visit.ask_for("select", wanted)
    return visit.see_other(f"/errand/{errand.id}")


@screen.action("/job/{name}/suits")
def suits(visit: Here, name: Name, form: Form) -> Response:
    """Ask which boards suit a panel."""
    show_job(visit.open_work, name)
    wanted = {"job": name, "panel": form.text("panel"), "seconds": seconds_in(form, 20)}
    return visit.see_other(f"/errand/{visit.ask_for('suits', wanted).id}")


def _path(name: str) -> str:
    return f"/job/{quote(name, safe='')}"


def _kept(name: str, version: int) -> str:
    return text("job.kept", name=name) if version == 1 else text("job.kept_again", name=name, version=version)


def _as_fault(refused: BadInput | ChangedMeanwhile) -> "Sequence[Fault]":
    from stockyard.errors import Fault

    return (Fault(text("job.whole"), refused.message),)


def _list(visit: Visit, faults: "Sequence[Fault]" = (), status: int = 200) -> Response:
    newest = {plan.job: plan for plan in plan_heads(visit.open_work)}
    found = [(job, newest.get(job.name)) for job in list_jobs(visit.open_work)]
    return visit.page("jobs.html", status=status, jobs=found, faults=faults)


def _form_page(visit: Visit, form: JobForm, faults: "Sequence[Fault]" = (), status: int = 200) -> Response:
    wrong, others = wrong_in(form, faults)
    return visit.page(
        "job_form.html",
        status=status,
        form=form,
        wrong=wrong,
        faults=others,
        any_wrong=bool(faults),
        usual=usual_values(usual_job(visit.open_work)),
        species=[one.name for one in list_species(visit.open_work)],
        kinds=[(kind, words(kind)) for kind in KINDS],
        allowances=ALLOWANCES,
        costs=COSTS,
        moisture=MOISTURE,
        figures=FIGURES,
    )
