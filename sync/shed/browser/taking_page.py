"""Taking a file from a stick by the browser, and what was set aside.

Rule 1: a file goes by the same door as `fallow take`; its name from outside is only shown.
"""

import re
import secrets
import shutil
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.responses import RedirectResponse, Response

from sync.disk.folder import load_block
from sync.disk.handovers import photos_aside
from sync.disk.journal import ShedJournal
from sync.disk.outcome import FileTaken, Options
from sync.disk.taking import take_again, take_files
from sync.disk.uploads import INCOMING_FOLDER
from sync.shed.browser.page import page_of, show
from sync.shed.doors import Visit
from sync.shed.shed import Shed
from sync.shed.words import ShedWords, message

_HEADS = (message("file"), message("line"), message("record"), message("field"),
          message("value"), message("reason"))
#: What of a name from outside is kept for the log: enough to know the file by.
_ODD = re.compile(r"[^A-Za-z0-9._() -]+")
_LONGEST_NAME = 80


async def take(visit: Visit) -> Response:
    """Take a file in and say what came of it."""
    page = await page_of(visit)
    words, file = page.words, visit.form.get("file")
    if not isinstance(file, UploadFile) or not file.filename:
        return await show(page, "message.html", status=400, heading=words("Take a file"),
                          sentence=words("Choose a file first."), reasons="", bad=True,
                          back="/phones")
    role = visit.said("role")
    options = Options(
        visit.said("person") or None, role if role in {"picker", "surveyor"} else "picker",
        bool(visit.said("unsealed")), bool(visit.said("mend")))
    taken = await run_in_threadpool(_take, visit.shed, file, options)
    if taken.refused is None:
        visit.shed.rebuilder.ask()
    return await show(
        page, "message.html", status=200 if taken.refused is None else 422,
        heading=taken.file, sentence=_said(taken, words), reasons=_reasons(taken),
        bad=taken.refused is not None, back="/phones")


def _take(shed: Shed, file: UploadFile, options: Options) -> FileTaken:
    """Bring a file to disk under a name of our own, take it, and forget it."""
    room = shed.folder / INCOMING_FOLDER / f"browser-{secrets.token_hex(4)}"
    room.mkdir(mode=0o700, parents=True)
    try:
        path = room / plain_name(file.filename or "")
        with path.open("wb") as target:
            shutil.copyfileobj(file.file, target)
        block, _ = load_block(shed.folder)
        with shed.taking:
            return take_files(shed.folder, block, [path], options, now=shed.clocks.now())[0]
    finally:
        shutil.rmtree(room, ignore_errors=True)


def plain_name(name: str) -> str:
    """Make a file's name out of whatever a browser calls it: no folders, no odd letters."""
    last = _ODD.sub("-", name.replace("\\", "/").rpartition("/")[2]).lstrip(".")[-_LONGEST_NAME:]
    return last or "file"


def _said(taken: FileTaken, words: ShedWords) -> str:
    if taken.refused is not None:
        return words("Refused:")
    return words("{new} new records, {known} already there, {aside} set aside.", new=taken.new,
                 known=taken.known, aside=len(taken.aside))


def _reasons(taken: FileTaken) -> str:
    """Give what the intake itself says of a file; it speaks English."""
    if taken.refused is not None:
        return taken.refused
    aside = [f"{one.line}: {one.field} = {one.value}: {one.reason}" for one in taken.aside[:20]]
    return " ".join([*taken.told, *aside])


async def aside(visit: Visit) -> Response:
    """List what was set aside."""
    page = await page_of(visit)
    lines = await run_in_threadpool(_lines, visit.shed.folder)
    passed = visit.request.query_params.get("said", "")
    said = page.words("{n} lines pass now.", n=int(passed)) if (
        passed.isdecimal() and len(passed) < 9) else ""
    return await show(page, "aside.html", lines=lines, said=said,
                      heads=[page.words(one) for one in _HEADS])


def _lines(folder: Path) -> list[tuple[Any, ...]]:
    with ShedJournal(folder) as journal:
        mended = journal.mended()
        waiting = journal.waiting()
    lines: list[tuple[Any, ...]] = [
        (one.file, one.line, one.name or "–", one.field, one.value, one.reason)
        for one in waiting if one.name not in mended
    ]
    return lines + [(one["file"], "–", one["photo"], "photo", "–", one["reason"])
                    for one in photos_aside(folder)]


async def again(visit: Visit) -> Response:
    """Check again what was set aside."""
    passed = await run_in_threadpool(_again, visit.shed)
    if passed:
        visit.shed.rebuilder.ask()
    return RedirectResponse(f"/aside?{urlencode({'said': passed})}", 303)


def _again(shed: Shed) -> int:
    with shed.taking:
        return take_again(shed.folder, now=shed.clocks.now())[0]
