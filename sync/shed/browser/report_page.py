"""S6, the report: as a page, and as one file to keep or send."""

from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from sync.disk.load import today_in
from sync.report.page import report_body, report_page
from sync.shed.browser.page import page_of, show
from sync.shed.browser.return_page import return_links
from sync.shed.doors import Visit


async def report(visit: Visit) -> Response:
    """Show the report."""
    page = await page_of(visit)
    if page.view is None:
        return await show(page, "report.html")
    view = page.view
    body = await run_in_threadpool(
        report_body, view.register, view.document, view.doubts, watched=view.watched,
        href=page.cell, seasons=visit.shed.seasons.plan_of(view))
    return await show(page, "report.html", body=body, save=page.link("/report.html"),
                      returns=return_links(page, view))


async def report_file(visit: Visit) -> Response:
    """Give the report as one file."""
    page = await page_of(visit)
    if page.view is None:
        return RedirectResponse("/report", 303)
    view = page.view
    made_on = today_in(view.register.block, visit.shed.clocks.now())
    text = await run_in_threadpool(
        report_page, view.register, view.document, view.doubts, made_on=made_on,
        seasons=visit.shed.seasons.plan_of(view))
    name = f"report-{view.register.on.isoformat()}.html"
    return Response(text, media_type="text/html; charset=utf-8",
                    headers={"Content-Disposition": f'attachment; filename="{name}"'})
