"""What every page has: its frame, its words, the day it is of, and how fresh its register is.

Rule 1: a page is made of one register, fetched once.
"""

import dataclasses
import re
from collections.abc import Mapping
from datetime import date
from functools import cache
from typing import Any
from urllib.parse import quote, urlencode
from zoneinfo import ZoneInfo

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape
from starlette.concurrency import run_in_threadpool
from starlette.responses import HTMLResponse

from sync.disk.folder import load_block
from sync.disk.load import day_asked
from sync.errors import FallowError
from sync.report.flag_rows import is_settled
from sync.shed.doors import TOKEN_FIELD, Visit
from sync.shed.rebuild import STEPS, View
from sync.shed.words import LANGUAGES, ShedWords, message

#: A record's name where it stands in a sentence.
_RECORD = re.compile(
    r"\b(?:[a-z][a-z0-9]{0,7}-[a-z0-9]{4}|shed|form-[a-z0-9]{1,16}|gpx-[0-9a-f]{8}):[1-9][0-9]*\b")
_NAV = (("/block", message("Block")), ("/flags", message("Flags")),
        ("/phones", message("Phones")), ("/plan", message("Plan")), ("/report", message("Report")))


@dataclasses.dataclass(frozen=True)
class Page:
    """What a page is made of.

    Attributes
    ----------
    words : ShedWords
        In the owner's language.
    view : View or None
        None while the first register is being built.
    on : date or None
        The day asked for; None is today.
    wrong : str or None
        Why the day asked for cannot be shown.
    """

    visit: Visit
    words: ShedWords
    view: View | None
    on: date | None
    wrong: str | None = None

    def link(self, path: str, **asked: Any) -> str:
        """Write a link to another page of the same day."""
        query = {key: value for key, value in asked.items() if value not in (None, "")}
        if self.on is not None:
            query.setdefault("on", self.on.isoformat())
        return path + (f"?{urlencode(query)}" if query else "")

    def cell(self, cell: str) -> str:
        """Write the link to a cell's page."""
        return self.link(f"/cell/{quote(cell)}")

    def flag(self, name: str, leaf: str = "page") -> str:
        """Write the link to a flag's own page."""
        return self.link(f"/flags/{quote(name, safe=':')}/{leaf}")

    def records(self, sentence: str) -> Markup:
        """Make links of the records that a sentence names."""
        escaped = str(escape(sentence))
        return Markup(_RECORD.sub(lambda m: f'<a href="/record/{m[0]}">{m[0]}</a>', escaped))


async def page_of(visit: Visit) -> Page:
    """Fetch what a page is made of.

    Parameters
    ----------
    visit : Visit
        The owner's.

    Returns
    -------
    Page
        Of the day that the address names, or of today.
    """
    shed = visit.shed
    block, _ = await run_in_threadpool(load_block, shed.folder)
    language = visit.owner.language if visit.owner else block.lang
    words = ShedWords(language, ZoneInfo(block.zone))
    said = visit.request.query_params.get("on", "")
    try:
        on = day_asked(said) if said else None
        view = await run_in_threadpool(shed.rebuilder.on, on)
        return Page(visit, words, view, on)
    except (ValueError, OverflowError):
        wrong = words("“{day}” is no day such as 2026-02-20: today is shown", day=said[:20])
    except FallowError as failure:
        wrong = str(failure)
    return Page(visit, words, shed.rebuilder.view(), None, wrong)


async def show(page: Page, template: str, *, status: int = 200, **more: Any) -> HTMLResponse:
    """Write a page.

    Parameters
    ----------
    page : Page
        What it is made of.
    template : str
        Name of its template.
    status : int
        Of HTTP.
    **more
        What only this page has.

    Returns
    -------
    HTMLResponse
        With the frame around it; instead of a page without a register, one that says so.
    """
    if page.view is None and template not in _WITHOUT_REGISTER:
        template = "working.html"
    frame = await run_in_threadpool(_frame, page)
    text = templates().get_template(template).render({**frame, **more})
    return HTMLResponse(text, status)


#: Pages that need no register.
_WITHOUT_REGISTER = frozenset({
    "phones.html", "pair.html", "code.html", "revoke.html", "help.html", "message.html",
    "taken.html", "aside.html", "type.html", "again.html", "typed.html", "record.html"})


def _frame(page: Page) -> dict[str, Any]:
    visit, words = page.visit, page.words
    path = visit.request.url.path
    open_flags = 0 if page.view is None else sum(
        not is_settled(flag) for flag in page.view.document["flags"])
    nav = [
        {"href": page.link(href), "name": words(name), "here": path == href,
         "count": open_flags if href == "/flags" else 0}
        for href, name in _NAV
    ]
    on = page.view.register.on if page.view else None
    return {
        "_": words, "w": words, "lang": words.language, "languages": LANGUAGES, "page": page,
        "nav": nav, "here": path, "query": _kept(visit.request.query_params),
        "on": on, "token": token(visit), "fresh": freshness(page), "wrong": page.wrong,
        "view": page.view, "document": page.view.document if page.view else None,
        "steps": STEPS,
    }


def _kept(query: Mapping[str, str]) -> list[tuple[str, str]]:
    """Give what of an address a new date does not change."""
    return [(key, value) for key, value in query.items() if key not in {"on", "said"}]


def token(visit: Visit) -> Markup:
    """Write the hidden field that every form has."""
    value = visit.shed.sign_in.form_token(visit.cookie)
    return Markup('<input type="hidden" name="{}" value="{}">').format(TOKEN_FIELD, value)


@dataclasses.dataclass(frozen=True)
class Freshness:
    """How the register stands: being built (step), older than the journal, or what went wrong."""

    step: int
    old: bool
    wrong: str | None


def freshness(page: Page) -> Freshness:
    """Say how fresh the register of a page is."""
    rebuilder = page.visit.shed.rebuilder
    state = rebuilder.state()
    newest = rebuilder.view()
    old = newest is not None and state.step == 0 and rebuilder.is_old(newest)
    return Freshness(state.step, old, state.wrong)


@cache
def templates() -> Environment:
    """Give the templates; they are read once."""
    return Environment(
        loader=PackageLoader("sync.shed.browser"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )
