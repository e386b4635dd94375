"""Errors told to whoever asked: problem details to scripts (RFC 9457), a page to people. In one table."""

import logging
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect

from stockyard import errors
from stockyard.errors import BadInput, StockyardError
from stockyard.web.texts import text

log = logging.getLogger("stockyard.web")

STATUS: Mapping[type[StockyardError], int] = {
    errors.NotFound: 404,
    errors.BadInput: 422,
    errors.ChangedMeanwhile: 412,
    errors.NotLetIn: 403,
    errors.StoreUnusable: 503,
    errors.Refused: 409,
    errors.MissingPart: 503,
    errors.Broken: 500,
}
"""What each error is over HTTP; a kind not named is as the nearest one above it."""


_OTHERS: Mapping[str, int] = {
    "sign-in-needed": 401,
    "refused-here": 403,
    "wrong-method": 405,
}
"""Kinds that are no errors of ours, and their usual status."""


class SignInNeeded(Exception):
    """Nobody has signed in, and this is not for nobody."""


class TooFar(Exception):
    """Something was asked that is refused before it reaches a service. key: of its text under `problem`."""

    def __init__(self, status: int, key: str) -> None:
        super().__init__(key)
        self.status, self.key = status, key


@dataclass(frozen=True, slots=True)
class Problem:
    """A problem as it is told. kind: the last part of its type, listed at /api/problems."""

    status: int
    kind: str
    detail: str
    faults: tuple[Mapping[str, str], ...] = ()

    @property
    def title(self) -> str:
        """What kind of problem it is, in words."""
        return text(f"problem.title.{self.kind}")

    def document(self) -> dict[str, Any]:
        """The problem details document."""
        more = {"faults": list(self.faults)} if self.faults else {}
        return {
            "type": f"/api/problems#{self.kind}",
            "title": self.title,
            "status": self.status,
            "detail": self.detail,
            **more,
        }


def problem_of(error: StockyardError) -> Problem:
    """How one of our errors is told."""
    kind = next(each for each in type(error).__mro__ if each in STATUS or each is StockyardError)
    status = STATUS.get(kind, 500)
    faults = error.faults if isinstance(error, BadInput) else ()
    return Problem(
        status,
        kind_name(kind),
        error.message,
        tuple({"where": f.where, "expected": f.expected, "found": f.found} for f in faults),
    )


def kind_name(kind: type[StockyardError]) -> str:
    """The name of an error in a problem's type: not-found."""
    return "".join(f"-{letter.lower()}" if letter.isupper() else letter for letter in kind.__name__)[1:]


def every_kind() -> list[dict[str, Any]]:
    """Every kind of problem there is: its type, status and title."""
    kinds = {kind_name(kind): status for kind, status in STATUS.items()} | dict(_OTHERS)
    return [
        {"type": f"/api/problems#{kind}", "status": status, "title": text(f"problem.title.{kind}")}
        for kind, status in kinds.items()
    ]


def install(app: FastAPI) -> None:
    """Tell every error there can be."""
    app.add_exception_handler(StockyardError, _ours)
    app.add_exception_handler(SignInNeeded, _sign_in)
    app.add_exception_handler(TooFar, _too_far)
    app.add_exception_handler(HTTPException, _http)
    app.add_exception_handler(RequestValidationError, _unreadable)
    app.add_exception_handler(ClientDisconnect, _gone)
    app.add_exception_handler(Exception, _unforeseen)


def for_scripts(request: Request) -> bool:
    """Does whoever asked want JSON?"""
    accepted = request.headers.get("accept", "")
    return request.url.path.startswith("/api") or "json" in accepted


def tell(request: Request, problem: Problem, headers: Mapping[str, str] | None = None) -> Response:
    """The problem as whoever asked can read it."""
    if for_scripts(request):
        return JSONResponse(
            problem.document(), problem.status, headers, media_type="application/problem+json"
        )
    from stockyard.web.gate import visit_for_problem

    answer = visit_for_problem(request).page("problem.html", status=problem.status, problem=problem)
    answer.headers.update(headers or {})
    return answer


def _ours(request: Request, error: Exception) -> Response:
    assert isinstance(error, StockyardError)
    problem = problem_of(error)
    if problem.status >= 500:
        log.error("%s %s: %s", request.method, request.url.path, error)
    return tell(request, problem, {"Retry-After": "2"} if problem.status == 503 else None)


def _sign_in(request: Request, _: Exception) -> Response:
    if for_scripts(request):
        problem = Problem(401, "sign-in-needed", text("problem.sign_in_needed"))
        return tell(request, problem, {"WWW-Authenticate": "Bearer"})
    from stockyard.web.screens.sign_in import sent_to_sign_in

    return sent_to_sign_in(request)


def _too_far(request: Request, error: Exception) -> Response:
    assert isinstance(error, TooFar)
    return tell(request, Problem(error.status, "refused-here", text(f"problem.{error.key}")))


def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if error.status_code == 400:  # a body that is no text at all
        return tell(request, Problem(422, "bad-input", text("problem.unreadable")))
    kind = {404: "not-found", 405: "wrong-method"}.get(error.status_code, "refused-here")
    detail = text("problem.no_such_page") if error.status_code == 404 else str(error.detail)
    return tell(request, Problem(error.status_code, kind, detail), error.headers)


def _unreadable(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    faults = tuple(
        {
            "where": ".".join(str(part) for part in fault["loc"]),
            "expected": str(fault["msg"]),
            "found": repr(fault.get("input"))[:200],
        }
        for fault in error.errors()
    )
    return tell(request, Problem(422, "bad-input", text("problem.unreadable"), faults))


def _gone(_: Request, __: Exception) -> Response:
    """Whoever asked has left before saying all of it: nobody reads this, and it is no fault of ours."""
    return Response(status_code=400)


def _unforeseen(request: Request, error: Exception) -> Response:
    log.error("%s %s failed", request.method, request.url.path, exc_info=error)
    return tell(request, Problem(500, "broken", text("problem.unforeseen")))
