"""The gate that every request passes: where it was sent from, whose it is, and whether they may.

Runs before each route, ahead of reading the body, and is the only place that decides who may do what.
"""

import hmac
import secrets
from collections.abc import Callable, Coroutine
from functools import partial
from typing import TYPE_CHECKING, Any

from fastapi import Request
from fastapi.responses import Response
from fastapi.routing import APIRoute
from starlette.concurrency import run_in_threadpool
from starlette.formparsers import MultiPartException

from stockyard.errors import BadInput
from stockyard.services.people import asks_to_sign_in, whose_sign_in
from stockyard.timber.person import Person
from stockyard.web.access import rule_of
from stockyard.web.csrf import FIELD, HEADER, proves
from stockyard.web.problems import SignInNeeded, TooFar
from stockyard.web.visit import WITHOUT_SIGN_IN, Visit
from stockyard.web.ways import Ways

if TYPE_CHECKING:
    from stockyard.settings import OpenWork

SIGNED_IN, VISITOR = "stockyard", "visitor"
"""Cookies: a sign-in's token, and what the forms of whoever has not signed in are keyed by."""

_LOOKING = frozenset({"GET", "HEAD", "OPTIONS"})
_FORMS = ("application/x-www-form-urlencoded", "multipart/form-data")
_ANY_SITE_SENDS = (*_FORMS, "text/plain", "")
"""What a browser posts for any site's page without asking us first (the Fetch standard's safelist)."""

_MOST_FIELDS = 5_000
_MOST_FILES = 40


class Gated(APIRoute):
    """A route behind the gate; the app has no other kind."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """The route's own handler, after the gate, and with the cookies a visitor needs."""
        beyond = super().get_route_handler()

        async def handle(request: Request) -> Response:
            try:
                await gate(request, self.endpoint)
                answer = await beyond(request)
            finally:
                await request.close()  # what was uploaded lies in a file until then
            keep_visitor(request, answer)
            return answer

        return handle


async def gate(request: Request, endpoint: Callable[..., Any]) -> None:
    """Let a request in or not.

    Raises SignInNeeded, or TooFar for what is refused before it reaches the route.
    """
    rule = rule_of(endpoint)
    if rule is None:
        raise TooFar(403, "no_rule")
    need, at_most_mb = rule
    _from_our_own_pages(request)
    token, by_header = _token(request)
    person = await run_in_threadpool(_person, request.app.state.open_work, token)
    if not need.met_by(person):
        if person is None:
            raise SignInNeeded
        raise TooFar(403, "makers_only")
    _let_in(request, person, token)
    if request.method not in _LOOKING:
        _not_too_large(request, at_most_mb)
        await _meant(request, by_header, at_most_mb)


def visit_for_problem(request: Request) -> Visit:
    """The visit of a request that did not come through the gate, or not all the way: as nobody."""
    found = getattr(request.state, "visit", None)
    if isinstance(found, Visit):
        return found
    request.state.secret = request.cookies.get(SIGNED_IN) or request.cookies.get(VISITOR) or ""
    return Visit(request, request.app.state.open_work, None, Ways.of(request.cookies))


def keep_visitor(request: Request, answer: Response) -> None:
    """Give whoever has no cookie yet one that forms can be keyed by."""
    if getattr(request.state, "new_visitor", False):
        answer.set_cookie(
            VISITOR, request.state.secret, httponly=True, samesite="strict", secure=_tls(request)
        )


def keep_sign_in(request: Request, answer: Response, token: str) -> None:
    """Let the browser hold a sign-in; it forgets it when it is closed."""
    answer.set_cookie(SIGNED_IN, token, httponly=True, samesite="lax", secure=_tls(request))


def forget_sign_in(answer: Response) -> None:
    """Let the browser forget its sign-in."""
    answer.delete_cookie(SIGNED_IN)


def _tls(request: Request) -> bool:
    return request.url.scheme == "https"


def _token(request: Request) -> tuple[str, bool]:
    """The sign-in's token, and whether a script showed it in a header."""
    scheme, _, shown = request.headers.get("authorization", "").partition(" ")
    if scheme.casefold() == "bearer" and shown:
        return shown.strip(), True
    return request.cookies.get(SIGNED_IN, ""), False


def _person(open_work: "OpenWork", token: str) -> Person | None:
    if not asks_to_sign_in(open_work):
        return WITHOUT_SIGN_IN
    return whose_sign_in(open_work, token) if token else None


def _let_in(request: Request, person: Person | None, token: str) -> None:
    visitor = request.cookies.get(VISITOR, "")
    signed_in = token if person is not None and person is not WITHOUT_SIGN_IN else ""
    request.state.new_visitor = not signed_in and not visitor
    request.state.secret = signed_in or visitor or secrets.token_urlsafe(32)
    request.state.token = signed_in
    open_work: Any = request.app.state.open_work
    if person is not None and person.name:
        open_work = partial(open_work, who=person.name)
    request.state.visit = Visit(request, open_work, person, Ways.of(request.cookies))


def _from_our_own_pages(request: Request) -> None:
    """Refuse a change that another site's page asks for: browsers say where they were sent from."""
    if request.method in _LOOKING:
        return
    site = request.headers.get("sec-fetch-site", "same-origin")
    origin = request.headers.get("origin")
    ours = f"{request.url.scheme}://{request.headers.get('host', '')}"
    if site not in ("same-origin", "none") or (origin is not None and not hmac.compare_digest(origin, ours)):
        raise TooFar(403, "other_site")


def _not_too_large(request: Request, at_most_mb: float) -> None:
    length = request.headers.get("content-length")
    if length is None:
        if "transfer-encoding" in request.headers:
            raise TooFar(411, "no_length")
    elif not length.isdecimal() or int(length) > at_most_mb * 1_000_000:
        raise TooFar(413, "too_large")


async def _meant(request: Request, by_header: bool, at_most_mb: float) -> None:
    """Was the change meant? A form carries its token; a script sends what no other site's form can send."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().casefold()
    by_browser = "origin" in request.headers or "sec-fetch-site" in request.headers
    asks_first = request.method != "POST" or kind not in _ANY_SITE_SENDS or (not kind and not by_browser)
    if by_header or (asks_first and not request.state.token):
        return
    shown = request.headers.get(HEADER, "")
    if not shown and kind in _FORMS:
        try:
            form = await request.form(
                max_files=_MOST_FILES, max_fields=_MOST_FIELDS, max_part_size=int(at_most_mb * 1_000_000)
            )
        except MultiPartException as fault:
            raise BadInput(f"The form could not be read: {fault.message}") from None
        field = form.get(FIELD, "")
        shown = field if isinstance(field, str) else ""
    if not proves(request.state.secret, shown):
        raise TooFar(403, "stale_form")
