"""A ground sheet made again as it was made then: by what the shed knew at that time.

Rule 1: the shed keeps no copy of a sheet; it is made again by the real build, of that day and of
what had arrived by then, and whoever shows it says so.
Rule 2: the owner's files are those of today, each rule and closure as it stood on its day; a file
that was changed by hand since gives another sheet.
"""

from datetime import UTC, datetime, timedelta
from pathlib import Path

from fieldapp.ground import GroundError, sheet_of
from sync.disk.load import load_inputs, today_in
from sync.errors import FallowError
from sync.register.build import build
from sync.report.document import register_document
from sync.report.flag_case.parts import SheetSeen
from sync.report.sheet import ground_sheet

#: No sheet is older than the program, and none is made long after it was carried.
_FIRST = datetime(2020, 1, 1, tzinfo=UTC)
_AHEAD = timedelta(days=1)
#: What is only the phone's: its numbers and its sheet's name say nothing of the ground.
_NO_ID = "00000000"


def sheet_made_again(
    folder: Path, made_at: datetime, *, now: datetime, sheet_id: str | None = None
) -> SheetSeen:
    """Make a ground sheet again by what the shed knew when it was made.

    Parameters
    ----------
    folder : Path
        The block folder.
    made_at : datetime
        UTC.
    now : datetime
        UTC; no sheet was made after it.
    sheet_id : str, optional
        As the phone named it.

    Returns
    -------
    SheetSeen
        The ground of it as the phone reads it; labels and numbers of one phone are left empty.

    Raises
    ------
    DiskError
        If the folder cannot be read.
    """
    if not _FIRST <= made_at <= now + _AHEAD:
        return SheetSeen(None, "no shed makes a sheet on that date: its clock was wrong")
    inputs = load_inputs(folder, known_by=made_at)
    try:
        register = build(inputs, on=today_in(inputs.block, made_at))
        told = ground_sheet(
            register, register_document(register, ()), phone="p0", device=None, made_at=made_at,
            held=(), sheet_id=sheet_id or _NO_ID)
        return SheetSeen(sheet_of(told))
    except (FallowError, GroundError) as wrong:
        return SheetSeen(None, str(wrong))
