"""Ground sheets as files, one a phone, sealed with that phone's key."""

import secrets
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

import fieldapp
from fieldapp.device.files import write_safely
from fieldapp.ground import pack_sheet
from sync.disk.keys import PairedPhone, load_phones
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
        path = out / f"{code}.sheet.zip"
        write_safely(path, _packed(register, document, one, now, new_id()))
        written.append(path)
    return written


def sheet_file(
    folder: Path, register: Register, document: Mapping[str, Any], phone: str, *, now: datetime
) -> bytes:
    """Make the ground sheet of one paired phone.

    Parameters
    ----------
    folder, register, document, now
        As for `write_sheets`.
    phone : str
        Its code.

    Returns
    -------
    bytes
        Of `PHONE.sheet.zip`, sealed with its key.

    Raises
    ------
    IntakeError
        If that phone is not paired.
    """
    mine = [one for one in load_phones(folder)
            if one.standing == "paired" and one.phone == phone]
    if not mine:
        raise IntakeError(f"phone {phone!r} is not paired; pair it first")
    return _packed(register, document, mine[-1], now, secrets.token_hex(4))


def _packed(
    register: Register, document: Mapping[str, Any], one: PairedPhone, now: datetime, sheet_id: str
) -> bytes:
    numbers = register.merged.numbers.get(one.device, ()) if one.device else ()
    sheet = ground_sheet(
        register, document, phone=one.phone, device=one.device, made_at=now,
        held=held_spans(numbers), sheet_id=sheet_id,
    )
    return pack_sheet(sheet, program=fieldapp.__version__, key=one.key)
