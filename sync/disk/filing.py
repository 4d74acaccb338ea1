"""Filing a return: a copy in the folder of reports, and the record that says so.

Rule 1: the copy is there before the record is, so that no record speaks of a copy that is not.
Rule 2: the record arrives after the time by which the return's figures were known, so that the
return made again by that time has the same bytes.
"""

import hashlib
import re
from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from fieldapp.device.files import write_safely
from fieldapp.record import stamp
from sync.disk.journal import ShedJournal
from sync.report.permit import figures_sum, returns_json

REPORTS_DIR = "reports"
_ODD = re.compile(r"[^A-Za-z0-9-]+")
#: Figures of the sum that the name of a copy ends with.
_SHOWN = 8
#: The least step between two times of arrival.
_STEP = timedelta(milliseconds=1)


def file_return(
    folder: Path, document: Mapping[str, Any], *, by: str, known_by: datetime, now: datetime
) -> tuple[str, Path]:
    """Keep a copy of a return and write down that it was filed.

    Parameters
    ----------
    folder : Path
        The block folder.
    document : mapping
        The return, made by what was known at `known_by`.
    by : str
        Person code of who files it.
    known_by, now : datetime
        UTC.

    Returns
    -------
    record : str
        Name of the record.
    copy : Path
        The file; the record's `sum` is the SHA-256 of its bytes.

    Raises
    ------
    DiskError
        If the record could not be written.
    IntakeError
        If it breaks a limit, as a person code may.
    """
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
    return names[0], copy


def _slug(name: str) -> str:
    return _ODD.sub("-", name).strip("-") or "permit"
