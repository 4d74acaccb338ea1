"""One flag with all there is to say of it: to read, to print, to keep as one file.

Rule 1: it is the page that `fallow why --flag` makes, of the same register.
Rule 2: the owner's alone; people stand on it by code.
"""

from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from sync.disk.dossiers import dossier_of
from sync.disk.load import today_in
from sync.report.flag_case import case_body, case_page, folio_of
from sync.report.flag_case.parts import Dossier
from sync.shed.browser.cell_page import flag_id
from sync.shed.browser.page import Page, page_of, show
from sync.shed.doors import Visit


async def flag_case(visit: Visit) -> Response:
    """Show a flag's case."""
    page = await page_of(visit)
    told = await _told(page)
    if page.view is not None and told is None:
        return await _gone(page)
    if told is None:
        return await show(page, "flag_case.html")
    body = await run_in_threadpool(case_body, told)
    name = told.case.flag.name
    return await show(page, "flag_case.html", body=body, title=folio_of(told).title,
                      back=page.link("/flags") + f"#{flag_id(name)}",
                      save=page.flag(name, "page.html"))


async def flag_case_file(visit: Visit) -> Response:
    """Give a flag's case as one file."""
    page = await page_of(visit)
    told = await _told(page)
    if told is None:
        return await _gone(page)
    made_on = today_in(told.register.block, visit.shed.clocks.now())
    text = await run_in_threadpool(lambda: case_page(told, made_on=made_on))
    return Response(text, media_type="text/html; charset=utf-8", headers={
        "Content-Disposition": f'attachment; filename="{flag_id(told.case.flag.name)}.html"'})


async def _told(page: Page) -> Dossier | None:
    """Put the case together; None where the day has no such flag, or no register yet."""
    view, shed = page.view, page.visit.shed
    if view is None:
        return None
    name = page.visit.request.path_params["name"]
    flag = next((one for one in view.flags if one.name == name), None)
    if flag is None:
        return None
    return await run_in_threadpool(
        lambda: dossier_of(shed.folder, view.register, view.document, flag,
                           now=shed.clocks.now()))


async def _gone(page: Page) -> Response:
    said = page.words("There is no such flag any more: look at what is open now.")
    return await show(page, "message.html", status=404, heading=page.words("Flags"),
                      sentence=said, reasons="", bad=True, back=page.link("/flags"))
