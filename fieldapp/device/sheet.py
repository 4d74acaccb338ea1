"""The newest ground sheet, kept on the phone.

Rule 1: an older sheet never takes the place of a newer one.
Rule 2: only a sheet that was sealed for this phone is kept; once kept it is believed.
"""

from pathlib import Path

from fieldapp.device.store import StoreError, keep_one, kept_one
from fieldapp.ground import GroundError, Sheet, sheet_json, sheet_of, unpack_sheet
from fieldapp.record import stamp


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
