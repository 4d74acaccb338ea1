"""S6, the report: as a page, and as one file to keep or send."""

from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from sync.disk.load import today_in
from sync.report.map_layers import LayerName
from sync.report.page import report_body, report_page
from sync.shed.browser.page import page_of, show
from sync.shed.browser.return_page import return_links
from sync.shed.doors import Visit

#: The maps that a report may have besides that of the states, where the address asks for them.
_MAPS: tuple[LayerName, ...] = ("scrub", "scrub_change", "water", "water_change")


async def report(visit: Visit) -> Response:
    """Show the report."""
    page = await page_of(visit)
    if page.view is None:
        return await show(page, "report.html")
    view, maps = page.view, _maps(visit)
    body = await run_in_threadpool(
        report_body, view.register, view.document, view.doubts, watched=view.watched,
        layers=maps, href=page.cell, seasons=visit.shed.seasons.plan_of(view))
    return await show(page, "report.html", body=body,
                      save=page.link("/report.html", maps="1" if maps else ""),
                      maps="" if maps else page.link("/report", maps="1"),
                      returns=return_links(page, view))


def _maps(visit: Visit) -> tuple[LayerName, ...]:
    return _MAPS if visit.request.query_params.get("maps") == "1" else ()


async def report_file(visit: Visit) -> Response:
    """Give the report as one file."""
    page = await page_of(visit)
    if page.view is None:
        return RedirectResponse("/report", 303)
    view = page.view
    made_on = today_in(view.register.block, visit.shed.clocks.now())
    text = await run_in_threadpool(
        report_page, view.register, view.document, view.doubts, layers=_maps(visit),
        made_on=made_on,
        seasons=visit.shed.seasons.plan_of(view))
    name = f"report-{view.register.on.isoformat()}.html"
    return Response(text, media_type="text/html; charset=utf-8",
                    headers={"Content-Disposition": f'attachment; filename="{name}"'})
