"""The owner's key: what signs the owner in when the one-time code is used up.

Rule 1: it is made once, readable by the owner alone, and printed nowhere.
"""

import secrets
from pathlib import Path

from fieldapp.device.files import write_safely
from sync.disk.keys import KEYS_FOLDER
from sync.errors import DiskError

OWNER_KEY_FILE = "owner.key"
_BYTES = 24
#: Shorter than this, somebody has cut it off.
_SHORTEST = 24


def owner_key(folder: Path) -> str:
    """Give the owner's key; at the first start it is made.

    Parameters
    ----------
    folder : Path
        The block folder.

    Returns
    -------
    str
        To be pasted on the sign-in page.

    Raises
    ------
    DiskError
        If it cannot be read or was cut off.
    """
    path = folder / KEYS_FOLDER / OWNER_KEY_FILE
    if not path.exists():
        path.parent.mkdir(mode=0o700, exist_ok=True)
        write_safely(path, secrets.token_urlsafe(_BYTES).encode() + b"\n", private=True)
    try:
        key = path.read_text(encoding="ascii").strip()
    except (OSError, ValueError) as wrong:
        raise DiskError(f"{KEYS_FOLDER}/{OWNER_KEY_FILE}: cannot be read") from wrong
    if len(key) < _SHORTEST:
        raise DiskError(f"{KEYS_FOLDER}/{OWNER_KEY_FILE}: is too short; delete it, a new one is "
                        "made at the next start")
    return key
