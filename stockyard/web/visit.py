"""One request as the screens see it: who came, what they may do, how they like things, how to answer."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated, Any
from urllib.parse import urlencode

from fastapi import Depends, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from stockyard.services.errands import ask_for
from stockyard.timber.errand import Errand
from stockyard.timber.person import Person, Role
from stockyard.web.csrf import token_for
from stockyard.web.said import COOKIE
from stockyard.web.ways import Ways

if TYPE_CHECKING:
    from stockyard.settings import OpenWork

WITHOUT_SIGN_IN = Person(name="", role=Role.MAKER)
"""Whoever is at a yard that knows no people: on its own machine, and free to do everything."""


@dataclass(frozen=True, slots=True)
class Visit:
    """What a route is given. open_work: writes this person's name beside every change.

    person: None only on pages that need nobody.
    """

    request: Request
    open_work: "OpenWork"
    person: Person | None
    ways: Ways = field(default_factory=Ways)

    @property
    def may_change(self) -> bool:
        """Is this a maker? What a reader may not do is not offered to them."""
        return self.person is not None and self.person.role is Role.MAKER

    def page(self, template: str, *, status: int = 200, **context: Any) -> HTMLResponse:
        """A page made from a template in templates/, which also sees the visit itself."""
        from stockyard.web.pages import render

        answer = HTMLResponse(render(template, self, context), status_code=status)
        if COOKIE in self.request.cookies:
            answer.delete_cookie(COOKIE)
        return answer

    def see_other(self, path: str, said: str = "") -> Response:
        """Send the browser on after something was done. said: what to say on the page it comes to."""
        answer = RedirectResponse(path, status_code=303)
        if said:
            from stockyard.web.said import leave_word

            leave_word(answer, said)
        return answer

    def ask_for(
        self, kind: str, wanted: Mapping[str, Any], files: Mapping[str, bytes] | None = None
    ) -> Errand:
        """Ask for long work as this person; see services.errands. Its page is /errand/NUMBER."""
        errand = ask_for(self.open_work, kind, wanted, files)
        if self.request.app.state.errands is not None:
            self.request.app.state.errands.poke()
        return errand

    @property
    def csrf(self) -> str:
        """What a form must send back to prove that it was ours."""
        return token_for(self.request.state.secret)

    def url(self, path: str, asked: Mapping[str, object] | None = None) -> str:
        """A path with its query, what is empty left out."""
        query = {name: value for name, value in (asked or {}).items() if value not in (None, "", (), [])}
        return f"{path}?{urlencode(query, doseq=True)}" if query else path


def visit_of(request: Request) -> Visit:
    """The visit that the gate has let in."""
    found: Visit = request.state.visit
    return found


Here = Annotated[Visit, Depends(visit_of)]
"""What a route asks for: `def rack(visit: Here)`."""
