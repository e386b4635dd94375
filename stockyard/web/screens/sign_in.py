"""Signing in and out, and how this device likes to be shown things."""

from urllib.parse import quote, urlsplit

from fastapi import Request
from fastapi.responses import RedirectResponse, Response

from stockyard.errors import NotLetIn
from stockyard.services import people
from stockyard.web.access import Need
from stockyard.web.forms import Form
from stockyard.web.gate import forget_sign_in, keep_sign_in
from stockyard.web.screen import Screen
from stockyard.web.visit import Here
from stockyard.web.ways import THEMES, UNITS

screen = Screen("sign_in")


def sent_to_sign_in(request: Request) -> Response:
    """Where somebody goes who has to sign in first, and how they come back."""
    back = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    target = "/sign-in" if request.method != "GET" else f"/sign-in?then={quote(back, safe='')}"
    return RedirectResponse(target, status_code=303)


@screen.page("/sign-in", Need.NOTHING)
def sign_in_page(visit: Here, then: str = "/") -> Response:
    """The form that lets somebody in. then: where they wanted to go."""
    return visit.page("sign_in.html", then=_ours(then), complaint="", name="")


@screen.action("/sign-in", Need.NOTHING)
def sign_in(visit: Here, form: Form) -> Response:
    """Let somebody in, with a sign-in of their own even where the browser had one."""
    then, name = _ours(form.text("then")), form.text("name")
    address = visit.request.client.host if visit.request.client else ""
    try:
        token = people.sign_in(visit.open_work, name, form.text("password", strip=False), address)
    except NotLetIn as refused:
        status = 429 if refused.wait_minutes else 403
        answer: Response = visit.page(
            "sign_in.html", status=status, then=then, complaint=refused.message, name=name
        )
        if refused.wait_minutes:
            answer.headers["Retry-After"] = str(refused.wait_minutes * 60)
        return answer
    if visit.request.state.token:
        people.sign_out(visit.open_work, visit.request.state.token)
    answer = visit.see_other(then)
    keep_sign_in(visit.request, answer, token)
    return answer


@screen.action("/sign-out", Need.NOTHING)
def sign_out(visit: Here) -> Response:
    """End the sign-in that the browser has."""
    if visit.request.state.token:
        people.sign_out(visit.open_work, visit.request.state.token)
    answer = visit.see_other("/sign-in")
    forget_sign_in(answer)
    return answer


@screen.action("/ways", Need.NOTHING)
def set_ways(visit: Here, form: Form) -> Response:
    """Remember on this device how things are to be shown."""
    answer = visit.see_other(_ours(form.text("then")))
    for name, choices in (("units", UNITS), ("theme", THEMES)):
        if (chosen := form.text(name)) in choices:
            answer.set_cookie(name, chosen, max_age=400 * 86_400, samesite="lax")
    return answer


def _ours(path: str) -> str:
    """A path of this app; the first page for anything that leads elsewhere."""
    parts = urlsplit(path)
    here = path.startswith("/") and not path.startswith(("//", "/\\")) and not parts.netloc
    return path if here and path.isprintable() else "/"
