"""The newest ground sheet, kept on the phone.

Rule 1: an older sheet never takes the place of a newer one.
Rule 2: only a sheet that was sealed for this phone is kept; once kept it is believed.
"""

from pathlib import Path

from fieldapp.device.store import StoreError, keep_one, kept_one
from fieldapp.ground import GroundError, Sheet, sheet_json, sheet_of, unpack_sheet
from fieldapp.handover.zips import ZipError, read_zip
from fieldapp.record import FileError, LineError, stamp
from fieldapp.record.lines import parse_object

_MANIFEST = "manifest.json"
_LONGEST_MANIFEST = 100_000


def keep_sheet(path: Path, data: bytes, *, key: bytes | None) -> Sheet:
    """Take a sheet file.

    Parameters
    ----------
    path : Path
        Where the newest is kept; its folder exists.
    data : bytes
        Of `*.sheet.zip`.
    key : bytes or None
        This phone's pairing key.

    Returns
    -------
    Sheet
        Now kept; the same sheet again changes nothing.

    Raises
    ------
    GroundError
        If it is no sheet of this phone's, or older than the one held.
    OSError
        If it could not be written.
    """
    sheet = unpack_sheet(data, key=key)
    held = kept_sheet(path)
    if held is not None and held.block_id == sheet.block_id:
        if held.made_at > sheet.made_at:
            raise GroundError(f"the sheet is of {stamp(sheet.made_at)} and the phone has one of "
                              f"{stamp(held.made_at)}: fetch a new one")
        if held == sheet:
            return held
    keep_one(path, sheet_json(sheet))
    return sheet


def kept_sheet(path: Path) -> Sheet | None:
    """Read the newest sheet; None if there is none, or none can be read any more."""
    try:
        kept = kept_one(path)
        return None if kept is None else sheet_of(kept)
    except (StoreError, GroundError):
        return None


def told_of(data: bytes) -> tuple[str, str]:
    """Read whose a sheet file says it is, to find the key that its seal is to be tried with.

    Parameters
    ----------
    data : bytes
        Of `*.sheet.zip`; nothing of it is believed yet.

    Returns
    -------
    (str, str)
        The block's id and the phone code.

    Raises
    ------
    GroundError
        If it is no sheet file, or a broken one.
    """
    try:
        entry = read_zip(data).get(_MANIFEST)
        if entry is None or entry.reason is not None:
            raise GroundError("the file has no sound manifest.json: it is no ground sheet, or was "
                              "not copied whole; copy it again")
        manifest = parse_object(entry.content, longest=_LONGEST_MANIFEST)
    except ZipError as error:
        raise GroundError(f"the file {error}") from None
    except (LineError, FileError) as error:
        raise GroundError(f"{_MANIFEST}: {error}") from None
    told = tuple(manifest.get(name) for name in ("block", "for"))
    if manifest.get("sheet") != 1 or not all(isinstance(one, str) for one in told):
        raise GroundError("the file is no ground sheet of this form: is it a hand-over? Else "
                          "bring both programs up to date")
    return str(told[0]), str(told[1])
