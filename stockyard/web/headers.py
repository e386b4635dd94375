"""What goes with every answer: how long it may be kept, and what a page of ours may load and do."""

from collections.abc import Mapping

from fastapi.responses import Response
from starlette.datastructures import MutableHeaders
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp, Message, Receive, Scope, Send

ONLY_OURS: Mapping[str, str] = {
    "Content-Security-Policy": "; ".join(
        (
            "default-src 'none'",
            "script-src 'self'",
            "style-src 'self'",
            "img-src 'self' blob: data:",
            "connect-src 'self'",
            "media-src 'self' blob:",
            "manifest-src 'self'",
            "worker-src 'self'",
            "frame-src 'self'",
            "form-action 'self'",
            "base-uri 'none'",
            "frame-ancestors 'self'",
        )
    ),
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=()",
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
"""Nothing from elsewhere, no script or style inside a page, nobody else's frame around it."""

_KEPT = "public, max-age=31536000, immutable"


class Headers:
    """Adds to every answer what it does not say itself."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on and complete the answer's headers."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def complete(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in ONLY_OURS.items():
                    headers.setdefault(name, value)
                headers.setdefault("Cache-Control", "private, no-cache")
            await send(message)

        await self._app(scope, receive, complete)


class KeptFiles(StaticFiles):
    """Static files: kept for ever under the version that names their content, looked at again otherwise.

    The version stands in the path, so that a script that imports its neighbour asks for the same version.
    """

    def __init__(self, directory: str, version: str) -> None:
        super().__init__(directory=directory)
        self._version = version

    async def get_response(self, path: str, scope: Scope) -> Response:
        """The file, with how long it may be kept."""
        version, _, name = path.partition("/")
        answer = await super().get_response(name, scope)
        answer.headers["Cache-Control"] = _KEPT if version == self._version else "public, no-cache"
        return answer
