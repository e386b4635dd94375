"""Entity tags: what a thing was when it was read, so that nobody writes over what they have not seen."""

import json
from hashlib import sha256
from typing import Any

from fastapi import Request
from fastapi.responses import JSONResponse, Response


def tag_of(mark: str) -> str:
    """The strong entity tag of a thing's mark."""
    return f'"{mark}"'


def answer_with_tag(request: Request, value: Any, mark: str | None = None) -> Response:
    """The value as JSON with its entity tag; 304 without a body to whoever has it already.

    mark: what tells one state of the thing from another; the answer's own digest when None.
    """
    body = json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    tag = tag_of(mark if mark is not None else sha256(body.encode()).hexdigest()[:24])
    kept = {"ETag": tag, "Cache-Control": "private, no-cache"}
    if tag in tags_in(request.headers.get("if-none-match", "")):
        return Response(status_code=304, headers=kept)
    return Response(body, media_type=JSONResponse.media_type, headers=kept)


def tags_in(header: str) -> tuple[str, ...]:
    """The tags that an If-Match or If-None-Match names, weak ones as if strong."""
    return tuple(word.strip().removeprefix("W/") for word in header.split(",") if word.strip())
