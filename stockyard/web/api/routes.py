"""Routes of the JSON interface: each says what it needs, and is described with the problems it may answer."""

from collections.abc import Callable
from typing import Annotated, Any

from fastapi import APIRouter, Path, Query, Request
from pydantic import BaseModel, ConfigDict

from stockyard.web.access import FORM_MB, Need, needs
from stockyard.web.etags import tags_in
from stockyard.web.gate import Gated
from stockyard.web.problems import TooFar

Route = Callable[[Callable[..., Any]], Callable[..., Any]]


class ProblemDetails(BaseModel):
    """A problem, as RFC 9457 says it. faults: everything wrong with what was sent, each with its place."""

    type: str
    title: str
    status: int
    detail: str
    faults: list[dict[str, str]] = []


class Given(BaseModel):
    """What is sent: unknown keys and numbers that are not finite are refused."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)


Whole = Annotated[int, Path(ge=1, le=2_000_000_000)]
"""A running number in an address."""

Limit = Annotated[int, Query(ge=1, le=500, description="How many to answer with at most.")]


class Api:
    """The routes of one noun. name: under which it stands in the description."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.router = APIRouter(route_class=Gated, tags=[name])

    def get(self, path: str, need: Need = Need.READER, **more: Any) -> Route:
        """Something to be read."""
        return self._route("GET", path, need, FORM_MB, (401, 403, 404, 422), **more)

    def post(
        self,
        path: str,
        need: Need = Need.MAKER,
        *,
        at_most_mb: float = FORM_MB,
        also: tuple[int, ...] = (),
        **more: Any,
    ) -> Route:
        """Something to be done. also: statuses of problems that others of these do not tell."""
        problems = (401, 403, 404, 409, 411, 412, 413, 422, 428, *also)
        return self._route("POST", path, need, at_most_mb, problems, **more)

    def put(self, path: str, need: Need = Need.MAKER, *, at_most_mb: float = FORM_MB, **more: Any) -> Route:
        """Something to be kept under its name."""
        return self._route(
            "PUT", path, need, at_most_mb, (401, 403, 404, 409, 411, 412, 413, 422, 428), **more
        )

    def patch(self, path: str, need: Need = Need.MAKER, **more: Any) -> Route:
        """Something to be corrected by whoever has seen it as it is."""
        return self._route("PATCH", path, need, FORM_MB, (401, 403, 404, 409, 412, 422, 428), **more)

    def delete(self, path: str, need: Need = Need.MAKER, **more: Any) -> Route:
        """Something to be taken away by whoever has seen it as it is."""
        return self._route("DELETE", path, need, FORM_MB, (401, 403, 404, 409, 412, 422, 428), **more)

    def _route(
        self, method: str, path: str, need: Need, at_most_mb: float, problems: tuple[int, ...], **more: Any
    ) -> Route:
        described = {"content": {"application/problem+json": {}}, "model": ProblemDetails}

        def register(endpoint: Callable[..., Any]) -> Callable[..., Any]:
            said = needs(need, at_most_mb=at_most_mb)(endpoint)
            responses: dict[int | str, dict[str, Any]] = {
                status: described | {"description": "See /api/problems"} for status in (*problems, 503)
            }
            return self.router.api_route(
                path, methods=[method], responses=responses, response_model=None, **more
            )(said)

        return register


def marks_seen(request: Request) -> tuple[str, ...]:
    """The states of a thing that whoever asks has seen (If-Match). Raises TooFar where they do not say."""
    seen = tags_in(request.headers.get("if-match", ""))
    if not seen:
        raise TooFar(428, "say_what_you_saw")
    return tuple(tag.strip('"') for tag in seen)
