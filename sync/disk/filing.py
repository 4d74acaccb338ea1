"""Filing a return: a copy in the folder of reports, and the record that says so.

Rule 1: the copy is there before the record is, so that no record speaks of a copy that is not.
Rule 2: the record arrives after the time by which the return's figures were known, so that the
return made again by that time has the same bytes.
"""

import dataclasses
import hashlib
import re
from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from fieldapp.device.files import write_safely
from fieldapp.record import stamp
from sync.disk.journal import ShedJournal
from sync.report.permit import Made, figures_sum, returns_json

REPORTS_DIR = "reports"
_ODD = re.compile(r"[^A-Za-z0-9-]+")
#: Figures of the sum that the name of a copy ends with.
_SHOWN = 8
#: The least step between two times of arrival.
_STEP = timedelta(milliseconds=1)


@dataclasses.dataclass(frozen=True)
class Filing:
    """What came of a filing.

    Attributes
    ----------
    record : str
        Name of the record that says it: the one before, where that says the same.
    before : str or None
        Record of the return of that year that was filed before, if one was.
    copy : Path or None
        The copy; the record's `sum` is the SHA-256 of its bytes. None where nothing was written.
    """

    record: str
    before: str | None
    copy: Path | None


def known_until(now: datetime) -> datetime:
    """Give a time as a record keeps it: to the millisecond, never later."""
    return now.replace(microsecond=now.microsecond // 1000 * 1000)


def file_return(
    folder: Path, made: Made, *, by: str, known_by: datetime, now: datetime
) -> Filing:
    """Keep a copy of a return and write down that it was filed, unless it was so already.

    Parameters
    ----------
    folder : Path
        The block folder.
    made : Made
        The return, made by what was known at `known_by`.
    by : str
        Person code of who files it.
    known_by, now : datetime
        UTC; `known_by` as `known_until` gives it.

    Returns
    -------
    Filing
        What was written.

    Raises
    ------
    DiskError
        If the record could not be written.
    IntakeError
        If it breaks a limit, as a person code may.
    """
    document = made.document
    before = None if document["filed"] is None else str(document["filed"]["record"])
    same = any(one.name == before and one.figures == figures_sum(document)
               for one in made.register.events.notices)
    if before is not None and same:
        return Filing(before, before, None)
    return dataclasses.replace(
        _written(folder, document, by, known_by, now), before=before)


def _written(
    folder: Path, document: Mapping[str, Any], by: str, known_by: datetime, now: datetime
) -> Filing:
    data = returns_json([document]).encode()
    total = hashlib.sha256(data).hexdigest()
    permit, year = document["permit"]["permit"], int(document["year"]["from"][:4])
    copy = folder / REPORTS_DIR / f"return-{_slug(permit)}-{year}-{total[:_SHOWN]}.json"
    copy.parent.mkdir(exist_ok=True)
    write_safely(copy, data)
    taken = document["taken"]
    fields = {
        "kind": "notice", "at": stamp(now), "person": by, "where": None, "permit": permit,
        "what": "return", "year": year, "known_by": stamp(known_by),
        "taken": None if taken is None else taken["value"], "sum": total,
        "figures": figures_sum(document),
    }
    with ShedJournal(folder) as journal:
        names = journal.write_down([fields], arrived=max(now, known_by + _STEP))
    return Filing(names[0], None, copy)


def _slug(name: str) -> str:
    return _ODD.sub("-", name).strip("-") or "permit"
