"""The return to the authority: to read, to print, to keep, and to write down as filed.

Rule 1: it is the page that `fallow permit --html` makes, of the same register.
Rule 2: what is filed is worked out anew by what is known at that moment, as the command does.
"""

import dataclasses
from datetime import date
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from sync.block import Permit
from sync.disk.filing import Filing, file_return, known_until
from sync.disk.load import load_inputs, today_in
from sync.errors import FallowError
from sync.register.permit_year import year_of
from sync.register.return_years import return_day, years_told
from sync.report.permit import Made, return_body, return_in, return_page, returns_of
from sync.shed.browser.flags_page import no_owner, owners_of
from sync.shed.browser.page import Page, page_of, show
from sync.shed.doors import Visit
from sync.shed.rebuild import View

_WAIT_S = 30.0


@dataclasses.dataclass(frozen=True)
class _Asked:
    """Which return: the permit, the year its permit year starts in, and the register of its day.

    `asked` is the day of the page.
    """

    permit: Permit
    year: int
    view: View
    asked: date


def return_links(page: Page, view: View) -> list[dict[str, str]]:
    """Give the returns that may be asked for on a day, the last year first, a link each."""
    return [
        {"name": page.words("{permit}, year from {day}", permit=permit.name,
                            day=page.words.day(year_of(permit, year)[0])),
         "href": page.link("/report/return", permit=permit.name, year=year)}
        for permit in view.register.block.permits for year in years_told(view.register, permit)]


async def permit_return(visit: Visit) -> Response:
    """Show a return."""
    return await _show(await page_of(visit))


async def _show(page: Page, *, refused: str = "", status: int = 200) -> Response:
    if page.view is None:
        return await show(page, "return.html")
    asked = await run_in_threadpool(_asked, page, page.view)
    if asked is None:
        return await _gone(page)
    body = await run_in_threadpool(lambda: return_body([_printed(asked)]))
    query = {"permit": asked.permit.name, "year": asked.year}
    said = page.visit.request.query_params.get("said", "")
    return await show(
        page, "return.html", status=status, body=body, refused=refused,
        said=_said(page, asked.view, said), save=page.link("/report/return.html", **query),
        send=page.link("/report/return", **query), back=page.link("/report"),
        owners=owners_of(page.view))


async def permit_return_file(visit: Visit) -> Response:
    """Give a return as one file."""
    page = await page_of(visit)
    if page.view is None:
        return RedirectResponse("/report", 303)
    asked = await run_in_threadpool(_asked, page, page.view)
    if asked is None:
        return await _gone(page)
    text = await run_in_threadpool(lambda: return_page([_printed(asked)]))
    return Response(text, media_type="text/html; charset=utf-8", headers={
        "Content-Disposition": f'attachment; filename="return-{asked.year}.html"'})


async def file(visit: Visit) -> Response:
    """Write down that a return was filed."""
    page = await page_of(visit)
    if page.view is None:
        return await show(page, "return.html")
    asked = await run_in_threadpool(_asked, page, page.view)
    if asked is None:
        return await _gone(page)
    unknown = no_owner(page, page.view)
    if unknown:
        return await _show(page, refused=unknown, status=409)
    try:
        filing = await run_in_threadpool(_file, page, page.view, asked)
    except FallowError as wrong:
        return await _show(page, refused=str(wrong), status=400)
    said = filing.record if filing.copy is not None else f"again {filing.record}"
    return RedirectResponse(page.link(
        "/report/return", permit=asked.permit.name, year=asked.year, said=said), 303)


def _asked(page: Page, view: View) -> _Asked | None:
    """Read which return is asked for; None if it is none."""
    query = page.visit.request.query_params
    name, year = query.get("permit", ""), query.get("year", "")
    found = next(((one, told) for one in view.register.block.permits if one.name == name
                  for told in years_told(view.register, one) if str(told) == year), None)
    if found is None:
        return None
    permit, told = found
    on = page.visit.shed.rebuilder.on(return_day(permit, told, view.register.on))
    return None if on is None else _Asked(permit, told, on, view.register.on)


def _printed(asked: _Asked) -> tuple[Any, Any, Any]:
    view = asked.view
    made = return_in(view.register, view.flags, asked.permit, asked=asked.asked)
    return made.document, view.register, view.document


def _file(page: Page, view: View, asked: _Asked) -> Filing:
    """File a return by what is known now, and wait for the register that holds the record."""
    shed = page.visit.shed
    by = page.visit.said("by") or owners_of(view)[0]
    with shed.taking:
        now = shed.clocks.now()
        known_by = known_until(now)
        inputs = load_inputs(shed.folder, known_by=known_by)
        made: Made = returns_of(inputs, [(asked.permit, asked.year)],
                                asked=today_in(inputs.block, now))[0]
        filing = file_return(shed.folder, made, by=by, known_by=known_by, now=now)
    if filing.copy is not None:
        shed.rebuilder.wait(shed.rebuilder.ask(), most_s=_WAIT_S)
    return filing


def _said(page: Page, view: View, said: str) -> str:
    """Say what a filing came to, of a record that is there."""
    again, _, name = said.rpartition("again ")
    if not any(one.name == name and one.what == "return" for one in view.register.events.notices):
        return ""
    if "again" in said and not again:
        return page.words("Filed already with the same figures, as {record}.", record=name)
    return page.words("Written down as filed: {record}. A copy is in the folder reports.",
                      record=name)


async def _gone(page: Page) -> Response:
    said = page.words("There is no such return: look at those of the page Report.")
    return await show(page, "message.html", status=404,
                      heading=page.words("Returns to the authority"), sentence=said, reasons="",
                      bad=True, back=page.link("/report"))
