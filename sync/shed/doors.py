"""Doors: who may come in by each, and how much they may bring.

Rule 1: a door says who may come in; one that does not say cannot be made.
Rule 2: the guard stands before the handler; a handler that runs is one that was let in.
Rule 3: every answer bears the same heads, every request leaves one line in the log: the door,
not the address that was asked for, and what came of it.
"""

import asyncio
import dataclasses
import logging
from collections.abc import Awaitable, Callable
from typing import Literal

from starlette.datastructures import FormData
from starlette.requests import ClientDisconnect, Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route
from starlette.types import Message, Receive, Scope, Send

from sync.errors import FallowError
from sync.shed.answers import HEADS, RefusalError, TooLargeError
from sync.shed.limits import STRANGER
from sync.shed.phone_sessions import PhoneSession
from sync.shed.shed import Shed
from sync.shed.sign_in import OwnerSession

log = logging.getLogger("fallow.shed")

#: `__Host-` binds a cookie to this host, path and TLS (RFC 6265bis, 4.1.3.2).
COOKIE = "__Host-fallow"
#: Before sign-in: what a form's token is bound to.
VISIT = "__Host-fallow-visit"
TOKEN_FIELD = "token"
_MOST_FIELDS = 100
_PIECE_BYTES = 65_536
_SEE_PAGES = "the owner's pages say why"

Who = Literal["anyone", "owner", "phone"]


@dataclasses.dataclass(frozen=True)
class Visit:
    """One request that was let in.

    Attributes
    ----------
    owner : OwnerSession or None
        Of the owner's doors.
    phone : PhoneSession or None
        Of the phones' doors.
    form : FormData
        What was sent, its token already looked at; empty unless the owner posted.
    """

    shed: Shed
    request: Request
    owner: OwnerSession | None = None
    phone: PhoneSession | None = None
    form: FormData = dataclasses.field(default_factory=FormData)

    @property
    def cookie(self) -> str:
        """The cookie of the owner's session, else of the visit; empty without either."""
        cookies = self.request.cookies
        return cookies.get(COOKIE if self.owner is not None else VISIT, "")

    @property
    def host(self) -> str:
        """Where it comes from, for counting only."""
        return self.request.client.host if self.request.client else ""

    def said(self, field: str) -> str:
        """Give a form's text without spaces at its ends; empty if there is none."""
        value = self.form.get(field, "")
        return value.strip() if isinstance(value, str) else ""


    @property
    def back(self) -> str:
        """The page that a form was sent from, if it is one of ours; else the block."""
        said = self.said("back")
        own = said.startswith("/") and not said.startswith(("//", "/\\"))
        return said if own else "/block"


Handler = Callable[[Visit], Awaitable[Response]]


@dataclasses.dataclass(frozen=True)
class Door:
    """One route.

    Attributes
    ----------
    path : str
        As Starlette writes it.
    method : str
        GET or POST or PUT.
    who : str
        Who may come in.
    body_bytes : int
        Most that a request may bring.
    seconds : float
        Longest it may take.
    """

    path: str
    method: str
    who: Who
    handler: Handler
    body_bytes: int
    seconds: float


def route_of(door: Door, shed: Shed) -> Route:
    """Make a door's route, with its guard before it."""
    return Route(door.path, _Guarded(door, shed), methods=[door.method])


class _Guarded:
    """The guard of one door, as an ASGI application."""

    def __init__(self, door: Door, shed: Shed) -> None:
        self._door = door
        self._shed = shed

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        request = Request(scope, _bounded(receive, self._door.body_bytes))
        began = self._shed.clocks.seconds()
        try:
            async with asyncio.timeout(self._door.seconds):
                answer = await self._answer(request)
        except ClientDisconnect:
            self._note("cut", began)
            return
        except TimeoutError:
            answer = PlainTextResponse("This took too long. Try again.", 503)
        finally:
            await request.close()  # a file that was sent along waits in it
        for name, value in HEADS.items():
            answer.headers.setdefault(name, value)
        self._note(str(answer.status_code), began)
        try:
            async with asyncio.timeout(self._shed.limits.file_s):
                await answer(scope, receive, _in_pieces(send))
        except TimeoutError:  # whoever asked does not read; the connection is closed
            self._note("unread", began)

    async def _answer(self, request: Request) -> Response:
        door = self._door
        try:
            length = request.headers.get("content-length", "0")
            if not length.isdecimal() or len(length) > 15 or int(length) > door.body_bytes:
                raise TooLargeError
            return await _LET_IN[door.who](door, Visit(self._shed, request))
        except TooLargeError:
            sentence = f"this door takes {door.body_bytes:,} bytes at most"
            if door.path.startswith("/phone/"):
                return RefusalError(413, "too_large", sentence).answer()
            return PlainTextResponse(sentence, 413)
        except RefusalError as refusal:
            return refusal.answer()
        except FallowError as failure:
            # What is wrong with a file of the owner's may name people.
            wrong = _SEE_PAGES if door.who == "anyone" else str(failure)
            if door.path.startswith("/phone/"):
                return RefusalError(503, "busy", f"the shed cannot answer now: {wrong}").answer()
            return PlainTextResponse(wrong, 500)

    def _note(self, outcome: str, began: float) -> None:
        took_ms = 1000.0 * (self._shed.clocks.seconds() - began)
        log.info("%s %s %s %.0f ms", self._door.method, self._door.path, outcome, took_ms)


async def _anyone(door: Door, visit: Visit) -> Response:
    # Phones are counted by what they ask; the fixed files cost nothing and go with every page.
    uncounted = door.path.startswith(("/phone/", "/static/"))
    if not uncounted and not visit.shed.allowances.allows("stranger", visit.host, STRANGER):
        return PlainTextResponse("Too many at once. Wait a minute.", 429)
    if door.method == "POST" and not door.path.startswith("/phone/"):
        visit = dataclasses.replace(visit, form=await _form(visit))
        if not _token_fits(visit, visit.request.cookies.get(VISIT)):
            return RedirectResponse("/sign-in?again=1", 303)
    return await door.handler(visit)


async def _owner(door: Door, visit: Visit) -> Response:
    cookie = visit.request.cookies.get(COOKIE)
    session = visit.shed.sign_in.session(cookie)
    if session is None:
        if door.method == "GET":
            return RedirectResponse("/sign-in", 303)
        return PlainTextResponse("Sign in first: your session has ended.", 403)
    visit = dataclasses.replace(visit, owner=session)
    if door.method != "GET":
        visit = dataclasses.replace(visit, form=await _form(visit))
        if not _token_fits(visit, cookie):
            return PlainTextResponse(
                "This form is not of a page that the shed made for you. Go back, load the page "
                "anew and send it again.", 403)
    return await door.handler(visit)


async def _phone(door: Door, visit: Visit) -> Response:
    head = visit.request.headers.get("authorization", "")
    kind, _, token = head.partition(" ")
    session = visit.shed.phones.of(token) if kind == "Bearer" else None
    if session is None:
        raise RefusalError(401, "expired", "the session has ended: begin a new one")
    return await door.handler(dataclasses.replace(visit, phone=session))


_LET_IN: dict[Who, Callable[[Door, Visit], Awaitable[Response]]] = {
    "anyone": _anyone, "owner": _owner, "phone": _phone}


async def _form(visit: Visit) -> FormData:
    try:
        return await visit.request.form(max_files=1, max_fields=_MOST_FIELDS)
    except (TooLargeError, ClientDisconnect):
        raise
    except Exception as wrong:  # whatever the parser raises on rotten bytes
        raise RefusalError(400, "bad_request", "this is no form that can be read") from wrong


def _token_fits(visit: Visit, cookie: str | None) -> bool:
    token = visit.form.get(TOKEN_FIELD)
    return visit.shed.sign_in.form_fits(cookie, token if isinstance(token, str) else None)


def _in_pieces(send: Send) -> Send:
    """Send a long body in pieces, each once the line has room for it.

    A body given at one go is "sent" at once, and a slow line cut off as idle while it still reads.
    """
    async def pieces(message: Message) -> None:
        body, more = message.get("body", b""), message.get("more_body", False)
        if len(body) <= _PIECE_BYTES:
            await send(message)
            return
        for start in range(0, len(body), _PIECE_BYTES):
            end = start + _PIECE_BYTES
            await send({**message, "body": body[start:end], "more_body": more or end < len(body)})

    return pieces


def _bounded(receive: Receive, most: int) -> Receive:
    """Count what comes in, and stop where it is more than the door takes."""
    came = 0

    async def bounded() -> Message:
        nonlocal came
        message = await receive()
        came += len(message.get("body", b""))
        if came > most:
            raise TooLargeError
        return message

    return bounded
