"""S3, the flags: the owner decides, one by one, and may change it.

Rule 1: a ruling is made on what the owner saw; a flag that changed since is shown again first.
Rule 2: every ruling stays to be seen; the last one holds.
Rule 3: what weighs most stands first, early picks above all.
"""

from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from fieldapp.record import stamp
from sync.disk.journal import ShedJournal
from sync.errors import FallowError
from sync.flags.flag import Flag
from sync.intake.merge import Counted
from sync.report.flag_rows import is_settled
from sync.report.map import cell_map
from sync.report.page_flags import RULING_WORDS, by_weight, flag_title
from sync.shed.browser.cell_page import flag_id, records_of
from sync.shed.browser.flag_words import about_words, rulings_of
from sync.shed.browser.page import Page, page_of, show
from sync.shed.doors import Visit
from sync.shed.rebuild import View
from sync.shed.words import ShedWords

#: Who rules where the owner's file names nobody.
_OWNER = "O"
_WAIT_S = 30.0
#: Rounded to two places it would read 1.
_AS_GOOD_AS_SURE = 0.995
#: A person code has no more letters; what is longer is cut where it is said.
_LONGEST_CODE = 8
#: A note is a note, not a book.
_LONGEST_NOTE = 2000


async def flags(visit: Visit) -> Response:
    """Show the flags."""
    return await _show(await page_of(visit))


async def _show(page: Page, *, refused: str = "", status: int = 200) -> Response:
    if page.view is None:
        return await show(page, "flags.html")
    more = await run_in_threadpool(_more, page, page.view)
    return await show(page, "flags.html", status=status, refused=refused, **more)


def _more(page: Page, view: View) -> dict[str, Any]:
    words = page.words
    rule = page.visit.request.query_params.get("rule", "")
    counts = view.register.merged.counts
    rulings: dict[str, list[Counted]] = defaultdict(list)
    for one in sorted(view.register.events.rulings, key=lambda c: (c.at, c.device, c.seq)):
        rulings[one.record["flag"]].append(one)
    raised = {flag.name: flag for flag in view.flags}
    shown = [
        _flag(page, view, row, raised[row["name"]], rulings[row["name"]])
        for row in by_weight(view.document["flags"])
        if rule in {"", row["rule"]}
    ]
    said = page.visit.request.query_params.get("said", "")
    return {
        "open": [one for one in shown if not one["decided"]],
        "decided": [one for one in shown if one["decided"]],
        "rules": sorted({(row["rule"], flag_title(row["rule"], words))
                         for row in view.document["flags"]}, key=lambda pair: pair[1]),
        "rule": rule, "owners": owners_of(view),
        "rulings": rulings_of(words),
        "records_of": lambda flag: records_of(flag["records"], counts, count=flag["count"]),
        "said": words("Ruled: {flag}. It may be changed below.", flag=said[:80])
        if said in raised else "",
    }


def owners_of(view: View) -> list[str]:
    """Give the person codes of the owners; a code of its own where the file names none."""
    return [one.code for one in view.register.block.people if one.role == "owner"] or [_OWNER]


def no_owner(page: Page, view: View) -> str:
    """Say that a code that was sent is no owner's; nothing where it is, or none was sent."""
    by, owners = page.visit.said("by"), owners_of(view)
    if not by or by in owners:
        return ""
    return page.words("people.toml has no owner of the code {code}: choose one of {owners}.",
                      code=by[:_LONGEST_CODE], owners=", ".join(owners))


def _flag(
    page: Page, view: View, row: Mapping[str, Any], flag: Flag, rulings: list[Counted]
) -> dict[str, Any]:
    words = page.words
    sentence = row["why"].rstrip(".")
    on_map = row["cell"] is not None and row["cell"] in view.register.cells
    return {
        "name": row["name"], "id": flag_id(row["name"]), "title": flag_title(row["rule"], words),
        "about": about_words(row, words), "why": sentence[:1].upper() + sentence[1:],
        "sure": words(row["how_sure"]),
        "chance": _chance(row["probability"], words),
        "records": row["records"], "seen": flag.seen, "ruling": row["ruling"],
        "count": row["record_count"],
        "decided": is_settled(row),
        "rulings": [
            {"when": words.clock(one.at), "says": words(RULING_WORDS[one.record["says"]][0]),
             "by": one.person, "note": one.record.get("note"), "record": one.name,
             "holds": one is rulings[-1] and is_settled(row)}
            for one in rulings
        ],
        "map": cell_map(view.register, view.document, row["cell"],
                        prefix=flag_id(row["name"]), say=words.on_map) if on_map else "",
    }


def _chance(chance: float | None, words: ShedWords) -> str:
    if chance is None:
        return ""
    if chance >= _AS_GOOD_AS_SURE:
        return words("probability over {p}", p=words.number(0.99, 2))
    return words("probability {p}", p=words.number(chance, 2))


async def rule(visit: Visit) -> Response:
    """Rule on a flag."""
    page = await page_of(visit)
    if page.view is None:
        return await show(page, "flags.html")
    name, says = visit.said("flag"), visit.said("says")
    flag = next((one for one in page.view.flags if one.name == name), None)
    trouble = _trouble(page, page.view, flag)
    if trouble or flag is None:
        return await _show(page, refused=trouble, status=409)
    row = next(one for one in page.view.document["flags"] if one["name"] == name)
    fields = {
        "kind": "ruling", "at": stamp(visit.shed.clocks.now()), "where": None,
        "person": visit.said("by") or owners_of(page.view)[0], "flag": name, "says": says,
        "seen": flag.seen, "figures": row["figures"],
    }
    if visit.said("note"):
        fields["note"] = visit.said("note")[:_LONGEST_NOTE]
    try:
        await run_in_threadpool(_write, visit, fields)
    except FallowError as wrong:
        return await _show(page, refused=str(wrong), status=400)
    return RedirectResponse(page.link("/flags", said=name) + f"#{flag_id(name)}", 303)


def _trouble(page: Page, view: View, flag: Flag | None) -> str:
    """Say why no ruling can be made on what was sent."""
    words, visit = page.words, page.visit
    if flag is None:
        return words("There is no such flag any more: look at what is open now.")
    if visit.said("seen") != flag.seen:
        return words("The flag has changed since you loaded this page: look at it again, then "
                     "rule.")
    if visit.said("says") not in RULING_WORDS:
        return words("Press one of the three buttons.")
    return no_owner(page, view)


def _write(visit: Visit, fields: Mapping[str, Any]) -> None:
    """Write a ruling down and wait for the register that holds it."""
    shed = visit.shed
    with shed.taking, ShedJournal(shed.folder) as journal:
        journal.write_down([fields], arrived=shed.clocks.now())
    shed.rebuilder.wait(shed.rebuilder.ask(), most_s=_WAIT_S)
