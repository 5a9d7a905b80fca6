"""Who asks: the coach, somebody of a team, or nobody; and whether a form is really theirs."""

import hashlib
import hmac
import secrets
from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Path, Request
from starlette.datastructures import FormData
from starlette.exceptions import HTTPException

from whirlbench.actions import room, sign_in
from whirlbench.errors import UnknownKey

COOKIE = "whirlbench"
_KEPT = 60 * 60 * 24 * 60  # [s] as long as a season
_MOST_FIELDS, _MOST_FILES = 2000, 20


class SignInNeeded(Exception):
    """Nobody is signed in, and the page is not for everybody."""


@dataclass(frozen=True)
class Visit:
    """A request by somebody who may make it.

    Attributes
    ----------
    request : Request
        The request.
    person : Person
        Who asks.
    number, team : int and str, or None
        The team whose page it is.
    """

    request: Request
    person: object
    number: int | None = None
    team: str | None = None

    @property
    def store(self):
        """The room's store."""
        return self.request.app.state.store

    @property
    def work(self):
        """Where heavy work is done."""
        return self.request.app.state.work

    @property
    def author(self):
        """First name to write beside what is done."""
        return self.person.name or ("coach" if self.person.coach else "")


def secret_of(request):
    """Secret that a request carries, from its cookie or as a logger's bearer token; empty for none."""
    scheme, _, token = request.headers.get("authorization", "").partition(" ")
    return token.strip() if scheme.lower() == "bearer" else request.cookies.get(COOKIE, "")


def person_of(request: Request):
    """Person who asks, or None."""
    secret = secret_of(request)
    return sign_in.who(request.app.state.store, secret) if secret else None


def anybody(request: Request):
    """Visit of somebody who is signed in."""
    person = person_of(request)
    if person is None:
        raise SignInNeeded
    return Visit(request, person)


def coach(request: Request):
    """Visit of the coach; a team learns nothing of such a page."""
    visit = anybody(request)
    if not visit.person.coach:
        raise HTTPException(404)
    return visit


def in_team(request: Request, team: Annotated[int, Path(ge=1, le=2**63 - 1)]):
    """Visit to a team's page by one of its own, or by the coach; to others the page is not there."""
    visit = anybody(request)
    if not visit.person.coach and visit.person.team_id != team:
        raise HTTPException(404)
    try:
        return Visit(request, visit.person, team, room.team_name(visit.store, team))
    except UnknownKey:
        raise HTTPException(404) from None


def form_mark(request):
    """Mark that every form of a signed-in browser carries: another page cannot know it."""
    return hmac.new(secret_of(request).encode(), b"form", hashlib.sha256).hexdigest()


async def form(request: Request):
    """Fields of a form, once its mark was found right; a door form of nobody has none. Files close with the request."""
    async with request.form(max_files=_MOST_FILES, max_fields=_MOST_FIELDS) as found:
        check_mark(request, str(found.get("mark", "")))
        yield found


def check_mark(request, mark=""):
    """Refuse a change that carries neither a logger's token nor the right mark, in the form or the header."""
    if request.headers.get("authorization", "").lower().startswith("bearer ") or not request.cookies.get(COOKIE):
        return
    mark = mark or request.headers.get("x-mark", "")
    if not hmac.compare_digest(mark.encode(), form_mark(request).encode()):
        raise HTTPException(403, "This form is from before you signed in. Go back, load the page again, send it again.")


def let_in(response, secret):
    """Give a browser the cookie of its sign-in."""
    response.set_cookie(COOKIE, secret, max_age=_KEPT, httponly=True, samesite="strict")
    return response


def let_out(response):
    """Take the cookie back."""
    response.delete_cookie(COOKIE, httponly=True, samesite="strict")
    return response


def same(first, second):
    """Whether two secrets are equal, in equal time."""
    return secrets.compare_digest(first.encode(), second.encode())


Anybody = Annotated[Visit, Depends(anybody)]
Coach = Annotated[Visit, Depends(coach)]
TeamVisit = Annotated[Visit, Depends(in_team)]
Form = Annotated[FormData, Depends(form)]
