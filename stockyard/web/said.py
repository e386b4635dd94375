"""A word left for the next page: what was done, said once. It travels in a cookie, so nothing is kept."""

from urllib.parse import quote, unquote

from fastapi import Request
from fastapi.responses import Response

COOKIE = "said"
_LONGEST = 300


def leave_word(answer: Response, said: str) -> None:
    """Leave a word for the page that comes next."""
    answer.set_cookie(COOKIE, quote(said[:_LONGEST]), max_age=60, httponly=True, samesite="lax")


def word_left(request: Request) -> str:
    """The word that was left; "" where there is none. It is shown as text, whatever it holds."""
    return unquote(request.cookies.get(COOKIE, ""))[:_LONGEST]
