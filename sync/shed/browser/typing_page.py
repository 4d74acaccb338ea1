"""Typing in what was written on paper, with questions before anything odd is kept.

Rule 1: nothing is written down while one field is wrong; what was typed stays on the page.
Rule 2: a dry weight is typed twice, the second time without seeing the first.
Rule 3: what is odd is asked once; the answer yes keeps it as it is.
Rule 4: a form that is sent twice, by a double click say, is written down once.
"""

import dataclasses
import hmac
import secrets
from collections.abc import Mapping
from datetime import date
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from starlette.concurrency import run_in_threadpool
from starlette.responses import PlainTextResponse, RedirectResponse, Response

from fieldapp.record import LAST_SEQ, SHED, Usual, canonical, problems, questions, stamp
from sync.disk.folder import load_block
from sync.disk.journal import ShedJournal
from sync.disk.load import today_in
from sync.errors import FallowError
from sync.intake.form_values import WrongValueError, noon_of, value_of
from sync.report.lifts.form import from_words
from sync.shed.browser.page import Page, page_of, show
from sync.shed.browser.typing_forms import FORMS, Field, Form, waiting_of
from sync.shed.doors import Visit

#: Forms whose person is not whoever types.
_OF_ANYBODY = frozenset({"bag"})
_ONCE_BYTES, _LONGEST_ONCE, _MOST_WRITTEN = 8, 40, 200


@dataclasses.dataclass(frozen=True)
class Mistake:
    """What is wrong with one field, and what to write instead."""

    field: str
    reason: str


async def empty(visit: Visit) -> Response:
    """Show an empty form; a waiting label may be filled in already."""
    form = FORMS.get(visit.request.path_params["kind"])
    if form is None:
        return PlainTextResponse("There is no such page.", 404)
    page = await page_of(visit)
    asked = visit.request.query_params
    given = {field.name: asked.get(field.name, "")[:200] for field in form.fields}
    block, _ = await run_in_threadpool(load_block, visit.shed.folder)
    given.setdefault("day", "")
    if not given["day"]:
        given["day"] = today_in(block, visit.shed.clocks.now()).isoformat()
    if not given.get("person") and form.kind not in _OF_ANYBODY:
        given["person"] = next((one.code for one in block.people if one.role == "owner"), "")
    done = asked.get("said", "")
    said = page.words("Written down as {name}.", name=done[:40]) if done else ""
    return await _show(page, form, given, said=said)


async def filled(visit: Visit) -> Response:
    """Take a filled form: look at it, ask for the dry weight again, write it down."""
    form = FORMS.get(visit.request.path_params["kind"])
    if form is None:
        return PlainTextResponse("There is no such page.", 404)
    page = await page_of(visit)
    given = {field.name: visit.said(field.name) for field in form.fields}
    if visit.said("back"):
        return await _show(page, form, given)
    block, _ = await run_in_threadpool(load_block, visit.shed.folder)
    record, mistakes = record_of(form, _one_label(page, form, given), zone=ZoneInfo(block.zone))
    mistakes += _unknown_words(page, record, mistakes)
    if mistakes:
        return await _show(page, form, given, mistakes=mistakes, status=400)
    asks = _asks(page, record)
    if asks and not visit.said("sure"):
        return await _show(page, form, given, asks=asks)
    if form.twice and form.twice in record:
        again = visit.said("again")
        if not _same(form, record, again):
            refused = page.words("The two do not agree: look at the scale slip.") if again else ""
            return await _again(page, form, given, refused)
    try:
        name = await run_in_threadpool(_write, visit, record)
    except FallowError as wrong:
        return await _show(page, form, given, mistakes=[Mistake("", str(wrong))], status=400)
    visit.shed.rebuilder.ask()
    return RedirectResponse(f"/type/{form.kind}?{urlencode({'said': name})}", 303)


def record_of(
    form: Form, given: Mapping[str, str], *, zone: ZoneInfo
) -> tuple[dict[str, Any], list[Mistake]]:
    """Make a record out of a filled form.

    Parameters
    ----------
    form : Form
        The form.
    given : mapping of str to str
        What was typed, by field.
    zone : ZoneInfo
        The block's; a record is dated local noon of its day.

    Returns
    -------
    record : dict
        Without device and number.
    mistakes : list of Mistake
        All that is wrong with it.
    """
    mistakes: list[Mistake] = []
    record: dict[str, Any] = {"kind": form.record, "where": None, **form.fixed}
    day = given.get("day") or given.get("from", "")
    try:
        record["at"] = stamp(noon_of(day, zone))
    except WrongValueError as wrong:
        mistakes.append(Mistake("day" if "day" in given else "from", wrong.reason))
        record["at"] = stamp(noon_of("2000-01-01", zone))
    for field in form.fields:
        text = given.get(field.name, "")
        if field.name == "day" or not text:
            continue
        try:
            record[field.name] = _value(form, field, text)
        except WrongValueError as wrong:
            mistakes.append(Mistake(field.name, wrong.reason))
    seen = {one.field for one in mistakes}
    judged = {**record, "device": SHED, "seq": LAST_SEQ}
    mistakes += [Mistake(one.field, one.reason) for one in problems(judged)
                 if one.field not in seen]
    return record, mistakes


def _value(form: Form, field: Field, text: str) -> Any:
    if field.choices and text not in dict(field.choices):
        raise WrongValueError(field.name, text, "choose one of the list")
    if field.name in {"person", "note"}:
        return text
    return value_of(form.record, field.name, text, comma=True)


def _unknown_words(
    page: Page, record: Mapping[str, Any], mistakes: list[Mistake]
) -> list[Mistake]:
    """Refuse a cell or permit that the block does not have, a person nobody is, a day to come."""
    view = page.view
    if view is None or mistakes:
        return []
    words, register, found = page.words, view.register, []
    if "cell" in record and record["cell"] not in register.cells:
        found.append(Mistake("cell", words("the block has no such cell")))
    permits = {permit.name for permit in register.block.permits}
    if "permit" in record and record["permit"] not in permits:
        found.append(Mistake("permit", words("write one of: {names}",
                                             names=", ".join(sorted(permits)) or "–")))
    people = {one.code for one in register.block.people}
    if people and record["person"] not in people:
        found.append(Mistake("person", words("write one of: {names}",
                                             names=", ".join(sorted(people)))))
    if record["at"] > stamp(page.visit.shed.clocks.now()) and (
            date.fromisoformat(record["at"][:10]) > register.on):
        found.append(Mistake("day", words("this day is still to come")))
    return found


def _asks(page: Page, record: Mapping[str, Any]) -> list[str]:
    """Give what is odd about a record, as questions."""
    frame_m, probes = 0.5, 3
    if page.view is not None:
        block = page.view.register.block
        frame_m, probes = block.frame_m, block.probes
    judged = {**record, "device": SHED, "seq": LAST_SEQ}
    odd = questions(judged, usual=Usual(frame_m, None, probes))
    return [f"{one.field} = {one.value}: {page.words(one.reason)}" for one in odd]


def _same(form: Form, record: Mapping[str, Any], again: str) -> bool:
    try:
        value = value_of(form.record, form.twice, again, comma=True)
    except WrongValueError:
        return False
    return hmac.compare_digest(repr(float(value)), repr(float(record[form.twice])))


def _write(visit: Visit, record: Mapping[str, Any]) -> str:
    shed, once = visit.shed, (_once(visit), canonical(record))
    with shed.taking, ShedJournal(shed.folder) as journal:
        if once not in shed.written:
            shed.written[once] = journal.write_down([record], arrived=shed.clocks.now())[0]
            while len(shed.written) > _MOST_WRITTEN:
                del shed.written[next(iter(shed.written))]
        return shed.written[once]


def _once(visit: Visit) -> str:
    """Give the mark of one form, which stays with it until it is written down."""
    return visit.said("once")[:_LONGEST_ONCE] or secrets.token_hex(_ONCE_BYTES)


async def _show(
    page: Page, form: Form, given: Mapping[str, str], *, mistakes: list[Mistake] | None = None,
    asks: list[str] | None = None, said: str = "", status: int = 200,
) -> Response:
    words = page.words
    wrong = {one.field: one.reason for one in mistakes or ()}
    fields = [_field(page, one, given, wrong) for one in form.fields]
    labels = {one["name"]: one for one in fields}
    waits = waiting_of(page.view.register).get(form.kind, []) if page.view else []
    return await show(
        page, "type.html", status=status, form=_said_form(page, form), fields=fields, said=said,
        once=_once(page.visit),
        mistakes=[{"id": labels[one.field]["id"] if one.field in labels else "",
                   "label": labels[one.field]["label"] if one.field in labels else one.field,
                   "reason": words(one.reason)} for one in mistakes or ()],
        asks=asks or [], waiting=[{"label": one, "fill": _fill(form, one)}
                                  for one in (waits[:60] if form.waits_for else [])],
        waiting_head=words("Waiting:"),
    )


def _fill(form: Form, label: str) -> str:
    """Write a waiting label as its field reads it as one, though it has blanks."""
    return from_words(label) if form.waits_for == "from" else label


def _one_label(page: Page, form: Form, given: Mapping[str, str]) -> Mapping[str, str]:
    """Take for one label what was typed just as a label with blanks that waits."""
    if form.waits_for != "from" or page.view is None:
        return given
    typed = given.get("from", "").strip()
    waits = waiting_of(page.view.register).get(form.kind, [])
    return {**given, "from": from_words(typed)} if typed in waits else given


def _said_form(page: Page, form: Form) -> dict[str, Any]:
    return {"kind": form.kind, "title": page.words(form.title), "lead": page.words(form.lead),
            "twice": form.twice, "waits_for": form.waits_for}


def _field(
    page: Page, field: Field, given: Mapping[str, str], wrong: Mapping[str, str]
) -> dict[str, Any]:
    words = page.words
    return {
        "id": f"field-{field.name}", "name": field.name, "label": words(field.label),
        "type": "date" if field.kind == "date" else "text", "numeric": field.kind == "number",
        "needed": field.needed, "value": given.get(field.name, ""),
        "hint": words(field.hint) if field.hint else "",
        "choices": _choices(page, field) or [(key, words(name)) for key, name in field.choices],
        "wrong": words(wrong[field.name]) if field.name in wrong else "",
    }


def _choices(page: Page, field: Field) -> list[tuple[str, str]]:
    """Give who and which permits there are, so that nobody has to know the codes by heart."""
    if page.view is None:
        return []
    block = page.view.register.block
    if field.name == "person":
        return [(one.code, f"{one.code} {one.name}".strip()) for one in block.people]
    if field.name == "permit":
        return [(one.name, one.name) for one in block.permits]
    return []


async def _again(page: Page, form: Form, given: Mapping[str, str], refused: str) -> Response:
    label = next(one.label for one in form.fields if one.name == form.twice)
    kept = [*given.items(), ("sure", page.visit.said("sure")),
            ("once", _once(page.visit))]
    return await show(page, "again.html", form=_said_form(page, form), refused=refused,
                      kept=kept, label=page.words(label))
