"""How long the app waits for what is being sent: a body that stops coming is given up, and holds nothing."""

import asyncio
import time

from starlette.types import ASGIApp, Message, Receive, Scope, Send

BETWEEN_S = 60.0
"""The longest silence within a body."""

ALL_S = 1_800.0
"""The longest that a whole body may take: the largest one over a weak radio link."""


class Patience:
    """Answers 408 and hangs up where a body takes too long to come."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, its body as long as it keeps coming."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        until, coming, begun, late = time.monotonic() + ALL_S, True, False, False

        async def patiently() -> Message:
            nonlocal coming, late
            if not coming:
                return await receive()  # waits for the visitor to leave, as long as the answer takes
            try:
                message = await asyncio.wait_for(receive(), min(BETWEEN_S, until - time.monotonic()))
            except TimeoutError:
                late, coming = True, False
                return {"type": "http.disconnect"}
            coming = message["type"] == "http.request" and message.get("more_body", False)
            return message

        async def answer(message: Message) -> None:
            nonlocal begun
            if late and not begun:
                return
            begun = True
            await send(message)

        try:
            await self._app(scope, patiently, answer)
        finally:
            if late and not begun:
                headers = [(b"content-length", b"0"), (b"connection", b"close")]
                await send({"type": "http.response.start", "status": 408, "headers": headers})
                await send({"type": "http.response.body", "body": b""})
