"""Ground sheets as files, one a phone, sealed with that phone's key."""

import secrets
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

import fieldapp
from fieldapp.device.files import write_safely
from fieldapp.ground import pack_sheet
from sync.disk.keys import load_phones
from sync.errors import IntakeError
from sync.register.build import Register
from sync.report.sheet import ground_sheet, held_spans


def write_sheets(
    folder: Path,
    register: Register,
    document: Mapping[str, Any],
    phone: str | None,
    out: Path,
    *,
    now: datetime,
    new_id: Callable[[], str] = lambda: secrets.token_hex(4),
) -> list[Path]:
    """Write the ground sheets of the paired phones.

    Parameters
    ----------
    folder : Path
        The block folder.
    register : Register
        Of today.
    document : mapping
        Its document.
    phone : str or None
        Only this phone code's; None is all.
    out : Path
        Folder to write to; made if it is not there.
    now : datetime
        UTC.
    new_id : callable, optional
        Makes up a sheet's id, eight hex digits.

    Returns
    -------
    list of Path
        `PHONE.sheet.zip` of each.

    Raises
    ------
    IntakeError
        If that phone, or no phone at all, is paired.
    """
    paired = {
        one.phone: one for one in load_phones(folder)
        if one.standing == "paired" and phone in {None, one.phone}
    }
    if not paired:
        said = "no phone is paired" if phone is None else f"phone {phone!r} is not paired"
        raise IntakeError(f"{said}; pair one with `fallow pair`")
    out.mkdir(parents=True, exist_ok=True)
    written = []
    for code, one in sorted(paired.items()):
        numbers = register.merged.numbers.get(one.device, ()) if one.device else ()
        sheet = ground_sheet(
            register, document, phone=code, device=one.device, made_at=now,
            held=held_spans(numbers), sheet_id=new_id(),
        )
        path = out / f"{code}.sheet.zip"
        write_safely(path, pack_sheet(sheet, program=fieldapp.__version__, key=one.key))
        written.append(path)
    return written
