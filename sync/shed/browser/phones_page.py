"""S4, phones and intake: is everybody back, and has everything arrived.

Rule 1: who is not back stands on top, in words, with the last place known as text.
Rule 2: names and places are on this page and in no log.
"""

import dataclasses
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from fieldapp.record import instant
from fieldapp.words.figures import latitude, longitude
from sync.disk.handovers import photos_aside
from sync.disk.intake_log import files_in
from sync.disk.journal import ShedJournal
from sync.disk.keys import PairedPhone, load_phones
from sync.intake.unread import last_track
from sync.report.out import who_is_out
from sync.shed.browser.page import Page, page_of, show
from sync.shed.browser.typing_forms import FORMS, waiting_of
from sync.shed.doors import Visit
from sync.shed.rebuild import View
from sync.shed.words import ShedWords, message

_HEADS = (message("phone"), message("who"), message("last hand-over"), message("up to number"),
          message("holes"), message("clock"), message("sheet of"), message("standing"))
_STANDING = {"paired": message("paired"), "retired": message("retired"),
             "revoked": message("revoked")}
_LOG_LINES = 30
#: From here on a clock is told as off. [s]
_CLOCK_S = 2.0


@dataclasses.dataclass(frozen=True)
class OutShown:
    """Somebody who is not back, in words."""

    who: str
    device: str
    since: str
    last: str
    place: str
    help: str


async def phones(visit: Visit) -> Response:
    """Show the phones and the intake."""
    page = await page_of(visit)
    more = await run_in_threadpool(_more, page)
    return await show(page, "phones.html", **more)


def _more(page: Page) -> dict[str, Any]:
    words, view, folder = page.words, page.view, page.visit.shed.folder
    with ShedJournal(folder) as journal:
        mended = journal.mended()
        aside = sum(one.name not in mended for one in journal.waiting())
        last = journal.last_arrivals()
    people = [] if view is None else [one.code for one in view.register.block.people]
    waits = waiting_of(view.register) if view else {}
    said = page.visit.request.query_params.get("said", "")
    return {
        "out": [] if view is None else list(_out(view, words, page.visit.shed.clocks.now())),
        "phone_heads": [words(one) for one in _HEADS],
        "phones": [_phone(one, view, last, words) for one in load_phones(folder)],
        "people": people,
        "to_type": [
            {"kind": kind, "name": words(form.title),
             "waiting": words("{n} wait", n=len(waits[kind])) if waits.get(kind) else ""}
            for kind, form in FORMS.items()
        ],
        "aside": aside + len(photos_aside(folder)), "log": _log(folder, words),
        "said": words("The phone is revoked: nothing more of it is taken.")
        if said == "revoked" else "",
    }


def _out(view: View, words: ShedWords, now: datetime) -> Iterator[OutShown]:
    """Say who is not back, in words; those who called for help first."""
    names = {one.code: one.name or one.call for one in view.register.block.people}
    for one in who_is_out(view.register, now):
        yield OutShown(
            f"{one.person} {names.get(one.person, '')}".strip(), one.device,
            "" if one.since is None else words("out since {when}", when=words.clock(one.since)),
            words("last record {when}", when=words.clock(one.last)),
            "" if one.where is None else f"{latitude(one.where.lat, words.language)} "
            f"{longitude(one.where.lon, words.language)}",
            "" if one.help_since is None else words("CALLED FOR HELP"),
        )


def _phone(
    one: PairedPhone, view: View | None, last: dict[str, str], words: ShedWords
) -> dict[str, Any]:
    since = {"phone": one.phone, "since": one.since}
    arrived = last.get(one.device or "")
    return {
        "phone": one.phone, "device": one.device,
        "boxes": (
            _who(one, view), words.clock(instant(arrived)) if arrived else words("never"),
            *_numbers(one, view, words), *_last_said(one, view, words),
        ),
        "standing": words(_STANDING[one.standing]),
        "revoke": None if one.standing == "revoked"
        else f"/phones/revoke?{urlencode(since)}",
    }


def _who(one: PairedPhone, view: View | None) -> str:
    """Give who wrote on a phone last, by code and name."""
    if view is None:
        return "–"
    wrote = [c for c in view.register.merged.counted if c.device == one.device]
    if one.device is not None and (track := last_track(
            view.register.merged.tracks, one.device, view.register.block.zone)) is not None:
        wrote.append(track)
    if not wrote:
        return "–"
    code = max(wrote, key=lambda c: c.at).person
    name = next((p.name for p in view.register.block.people if p.code == code), "")
    return f"{code} {name}".strip()


def _numbers(one: PairedPhone, view: View | None, words: ShedWords) -> tuple[str, str]:
    if view is None or one.device is None:
        return "–", "–"
    numbers = view.register.merged.numbers.get(one.device, ())
    holes = [hole for hole in view.register.holes if hole.device == one.device]
    told = [f"{h.first}–{h.last}" + (f" ({words('on paper')})" if h.paper_bags is not None else "")
            for h in holes]
    return (str(max(numbers)) if numbers else "–"), ", ".join(told) or words("none")


def _last_said(one: PairedPhone, view: View | None, words: ShedWords) -> tuple[str, str]:
    """Give how far a phone's clock was off at its last fix, and the day of its sheet."""
    own = [] if view is None else [
        c for c in view.register.merged.counted if c.device == one.device]
    lags = [c.lag_s for c in own if c.lag_s is not None]
    fixes = [c.where.lag_s for c in own if c.where is not None and c.where.lag_s is not None]
    lag_s = lags[-1] if lags else (fixes[-1] if fixes else None)
    clock = "–" if lag_s is None else (
        words("right") if abs(lag_s) < _CLOCK_S else words(
            "{span} ahead" if lag_s > 0 else "{span} behind", span=words.span(lag_s)))
    sheets = [c.record["sheet"] for c in own
              if c.kind == "outing" and c.record.get("sheet") is not None]
    return clock, words.clock(instant(sheets[-1]["made_at"])) if sheets else "–"


def _log(folder: Path, words: ShedWords) -> list[dict[str, Any]]:
    """Give the last files of the intake log, newest first."""
    return [
        {"at": words.clock(one.at), "file": one.file, "said": one.said,
         "bad": one.refused is not None}
        for one in reversed(files_in(folder, last=_LOG_LINES))
    ]
