"""S5, the plan: what follows from the register as far as it is worked out.

Rule 1: nothing is planned here that no stage computes; what is to come is said to be.
"""

from collections.abc import Mapping
from datetime import date
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from sync.shed.browser.lifts_part import lifts_part
from sync.shed.browser.page import Page, page_of, show
from sync.shed.browser.seasons_part import seasons_part
from sync.shed.browser.watched_part import watched_part
from sync.shed.browser.watched_tables import fold_of
from sync.shed.doors import Visit
from sync.shed.rebuild import View
from sync.shed.words import message

_SOON_DAYS = 548
_NOW = (message("cell"), message("left kg"), message("may take kg"), message("t/ha"))
_SOON = (message("cell"), message("rest ends"), message("surveyed"), message("kg then"))
_SURVEY = (message("cell"), message("ground class"), message("open ha"), message("surveyed"))


async def plan(visit: Visit) -> Response:
    """Show the plan."""
    page = await page_of(visit)
    if page.view is None:
        return await show(page, "plan.html")
    return await show(page, "plan.html", **await run_in_threadpool(_more, page, page.view))


def _more(page: Page, view: View) -> dict[str, Any]:
    words, cells = page.words, view.document["cells"]
    ready = sorted((row for row in cells if row["state"] == "ready"),
                   key=lambda row: -(row["left_kg"] or 0))
    soon = sorted((row for row in cells if _ends_soon(row, view.register.on)),
                  key=lambda row: row["rest_ends"])
    unsurveyed = sorted((row for row in cells if row["state"] == "unsurveyed"),
                        key=lambda row: -row["open_ha"])
    now_t = view.document["block"]["may_take_t"]
    left_t = sum(row["left_kg"] or 0 for row in ready) / 1000
    return {
        "now_said": words("{n} cells are ready; {left} t are left in them, {t} t may be taken "
                          "now, after the permits.", n=len(ready), left=words.number(left_t, 1),
                          t=words.number(now_t, 1)),
        "now_heads": [words(one) for one in _NOW],
        "now_rows": fold_of(page, "now", [
            _row(page, row, (words.number(row["left_kg"]), words.number(row["may_take_kg"]),
                             _crop(page, row))) for row in ready]),
        "soon_heads": [words(one) for one in _SOON],
        "soon_rows": fold_of(page, "soon", [
            _row(page, row, (words.day(row["rest_ends"]), words.day(row["surveyed_on"]),
                             words.number((row["next"] or {}).get("kg")))) for row in soon]),
        "survey_heads": [words(one) for one in _SURVEY],
        "survey_rows": fold_of(page, "unsurveyed", [
            _row(page, row, (row["ground_class"], words.number(row["open_ha"], 2),
                             words.day(row["surveyed_on"]))) for row in unsurveyed]),
        "lifts": lifts_part(page, view.register), "seasons": seasons_part(page, view),
        "watched": watched_part(page, view),
    }


def _ends_soon(row: Mapping[str, Any], on: date) -> bool:
    if row["state"] != "resting" or row["rest_ends"] is None:
        return False
    return (date.fromisoformat(row["rest_ends"]) - on).days <= _SOON_DAYS


def _crop(page: Page, row: Mapping[str, Any]) -> str:
    crop = row["standing_crop_t_ha"]
    return page.words.number(None if crop is None else crop["value"], 1)


def _row(page: Page, row: Mapping[str, Any], values: tuple[Any, ...]) -> dict[str, Any]:
    return {"name": row["cell"], "href": page.cell(row["cell"]), "boxes": values}
