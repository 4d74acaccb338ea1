"""One record as it was received, and the page that helps.

Rule 1: of a track only its length is shown, never its points.
"""

import json
from collections.abc import Mapping
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from fieldapp.record import NAME
from sync.disk.journal import ShedJournal
from sync.shed.browser.page import Page, page_of, show
from sync.shed.doors import Visit

_POINTS = frozenset({"dt_ms", "lat_e7", "lon_e7", "acc_m"})


async def record(visit: Visit) -> Response:
    """Show a record."""
    page = await page_of(visit)
    name = visit.request.path_params["name"]
    contents = await run_in_threadpool(_contents, page, name) if NAME.match(name) else []
    return await show(page, "record.html", status=200 if contents else 404, name=name[:60],
                      contents=contents, standing=_standing(page, name) if contents else "")


def _contents(page: Page, name: str) -> list[list[tuple[str, str]]]:
    with ShedJournal(page.visit.shed.folder) as journal:
        found = journal.record(name)
    return [[(key, _said(page, key, value, one)) for key, value in one.items()] for one in found]


def _said(page: Page, key: str, value: Any, one: Mapping[str, Any]) -> str:
    if one["kind"] == "track" and key in _POINTS and isinstance(value, list):
        return page.words("{n} points", n=len(value))
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)


def _standing(page: Page, name: str) -> str:
    if page.view is None:
        return ""
    if page.view.register.merged.counts(name):
        return page.words("It counts.")
    return page.words("It does not count: it was voided, replaced, or is of a kind that is not "
                      "known; or it came in after this register was worked out.")


async def help_page(visit: Visit) -> Response:
    """Show the help."""
    return await show(await page_of(visit), "help.html")
