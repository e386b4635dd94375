"""People: who may come in, who may change things, and one's own password."""

from fastapi.responses import Response

from stockyard.errors import BadInput
from stockyard.services.people import (
    LEAST_PASSWORD,
    add_person,
    change_own_password,
    change_person,
    list_people,
)
from stockyard.timber.person import Role
from stockyard.web.access import Need
from stockyard.web.forms import Form
from stockyard.web.gate import forget_sign_in
from stockyard.web.screen import Screen
from stockyard.web.texts import text
from stockyard.web.visit import Here

screen = Screen("people", "/people")

_ROLES = [role.value for role in Role]


@screen.page("/people")
def people(visit: Here) -> Response:
    """Everyone by name; a maker may change them."""
    return _page(visit)


@screen.action("/people")
def add(visit: Here, form: Form) -> Response:
    """Let another person in from now on."""
    name, role = form.text("name", required=True), form.choice("role", _ROLES, required=True)
    password = form.text("password", strip=False, required=True)
    try:
        form.check(text("people.nobody_added"))
        added = add_person(visit.open_work, name, Role(role or ""), password)
    except BadInput as refused:
        return _page(visit, adding=refused, name=name)
    return visit.see_other("/people", text("people.added", name=added.name))


@screen.action("/people/change")
def change(visit: Here, form: Form) -> Response:
    """Give a person another role or password, or have them come in no more."""
    name = form.text("name", required=True)
    role = form.choice("role", _ROLES)
    password = form.text("password", strip=False)
    form.check(text("people.not_changed"))
    left = {"stop": True, "back": False}.get(form.text("act"))
    changed = change_person(
        visit.open_work, name, role=Role(role) if role else None, password=password or None, has_left=left
    )
    return visit.see_other("/people", text("people.changed", name=changed.name))


@screen.action("/people/own-password", Need.READER)
def own_password(visit: Here, form: Form) -> Response:
    """Give oneself another password, and sign in again with it."""
    name = visit.person.name if visit.person else ""
    try:
        change_own_password(
            visit.open_work, name, form.text("old", strip=False), form.text("new", strip=False)
        )
    except BadInput as refused:
        return _page(visit, own=refused)
    answer = visit.see_other("/sign-in", text("people.own_changed"))
    forget_sign_in(answer)
    return answer


def _page(
    visit: Here, adding: BadInput | None = None, own: BadInput | None = None, name: str = ""
) -> Response:
    return visit.page(
        "people.html",
        status=422 if adding or own else 200,
        people=list_people(visit.open_work),
        roles=[(role, text(f"people.role.{role}")) for role in _ROLES],
        least=LEAST_PASSWORD,
        adding=adding,
        own=own,
        name=name,
    )
