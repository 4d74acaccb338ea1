"""The phones' keys: who may seal a hand-over for this block.

Rule 1: keys are readable by the owner alone and appear in no log, report or message.
Rule 2: pairing a phone code again retires its former device; what that device still brings late
is taken. A revoked phone is refused.
Rule 3: a key is one device's: an app installed again with the old pairing file is another device
and is to be paired again, so that the numbers of two are never taken for one's.
Rule 4: who changes the list holds its lock from reading to writing: a shed that is open and
`fallow pair` beside it lose nothing of each other's.
"""

import dataclasses
import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

from fieldapp.device.files import write_safely
from fieldapp.device.pairing import KEY_BYTES, PHONE, Pairing, pairing_json
from fieldapp.handover import Manifest, seal_fits
from fieldapp.record import stamp
from sync.block import Block
from sync.errors import DiskError, IntakeError, SettingsError

KEYS_FOLDER = "keys"
_FILE = "phones.json"
_LOCK = "phones.lock"
_WAIT_S = 20.0
_STANDINGS = ("paired", "retired", "revoked")


@dataclasses.dataclass(frozen=True)
class PairedPhone:
    """One pairing.

    Attributes
    ----------
    device : str or None
        The install that uses the key; None until its first hand-over.
    standing : str
        `paired`, `retired` or `revoked`.
    since : str
        When it was paired, UTC.
    """

    phone: str
    device: str | None
    key: bytes = dataclasses.field(repr=False)
    standing: str
    since: str


def load_phones(folder: Path) -> tuple[PairedPhone, ...]:
    """Read all pairings of a block folder, oldest first.

    Raises
    ------
    DiskError
        If the file is damaged.
    SettingsError
        If a standing is misspelt: who was to be revoked must not get in by it.
    """
    path = folder / KEYS_FOLDER / _FILE
    if not path.is_file():
        return ()
    try:
        rows: list[dict[str, Any]] = json.loads(path.read_bytes())["phones"]
        phones = tuple(
            PairedPhone(
                row["phone"], row["device"], bytes.fromhex(row["key"]), row["standing"],
                row["since"],
            )
            for row in rows
        )
    except (ValueError, KeyError, TypeError) as wrong:
        raise DiskError(f"{KEYS_FOLDER}/{_FILE}: damaged; take it from the last backup") from wrong
    mistakes = [
        f"{KEYS_FOLDER}/{_FILE} phone {one.phone!r} standing = {one.standing!r}: write one of "
        f"{', '.join(_STANDINGS)}"
        for one in phones if one.standing not in _STANDINGS
    ]
    if mistakes:
        raise SettingsError(mistakes)
    return phones


@contextmanager
def _held(folder: Path) -> Iterator[None]:
    """Hold the list's lock: SQLite's, which every system has and which ends with its process."""
    path = folder / KEYS_FOLDER / _LOCK
    path.parent.mkdir(mode=0o700, exist_ok=True)
    path.touch(mode=0o600)
    try:
        lock = sqlite3.connect(path, isolation_level=None, timeout=_WAIT_S)
        with closing(lock):
            lock.execute("BEGIN EXCLUSIVE")
            yield
    except sqlite3.Error as wrong:
        raise DiskError(f"{KEYS_FOLDER}/{_FILE}: another program is writing to it; wait and try "
                        "again") from wrong


def _save(folder: Path, phones: tuple[PairedPhone, ...]) -> None:
    rows = [{**dataclasses.asdict(phone), "key": phone.key.hex()} for phone in phones]
    keys = folder / KEYS_FOLDER
    keys.mkdir(mode=0o700, exist_ok=True)
    content = json.dumps({"phones": rows}, indent=1).encode()
    write_safely(keys / _FILE, content + b"\n", private=True)


def pair(folder: Path, block: Block, phone: str, key: bytes, *, now: datetime) -> Path:
    """Pair a phone without the server.

    Parameters
    ----------
    folder : Path
        The block folder.
    block : Block
        Its block.
    phone : str
        Phone code such as `p3`.
    key : bytes
        New and random, 32 bytes.
    now : datetime
        UTC.

    Returns
    -------
    Path
        The pairing file, to be carried to the phone and then deleted.

    Raises
    ------
    IntakeError
        If the phone code is none.
    """
    pairing = new_pairing(folder, block, phone, key, now=now)
    path = folder / KEYS_FOLDER / f"{phone}.pairing.json"
    write_safely(path, pairing_json(pairing), private=True)
    return path


def new_pairing(folder: Path, block: Block, phone: str, key: bytes, *, now: datetime) -> Pairing:
    """Note a new pairing; a former one of that phone code is retired.

    Parameters
    ----------
    folder, block, phone, key, now
        As for `pair`.

    Returns
    -------
    Pairing
        What the phone must be told, over a line that only it can read.

    Raises
    ------
    IntakeError
        If the phone code is none.
    """
    refuse_no_code(phone)
    if len(key) != KEY_BYTES:
        raise ValueError(f"a key has {KEY_BYTES} bytes, not {len(key)}")
    with _held(folder):
        former = tuple(
            dataclasses.replace(one, standing="retired")
            if one.phone == phone and one.standing == "paired" else one
            for one in load_phones(folder)
        )
        _save(folder, (*former, PairedPhone(phone, None, key, "paired", stamp(now))))
    return Pairing(block.block_id, block.name, phone, key)


def refuse_no_code(phone: str) -> None:
    """Refuse what is no phone code; IntakeError says what one looks like."""
    if not PHONE.match(phone):
        raise IntakeError(
            f"phone {phone!r}: a phone code is a small letter and up to seven small letters or "
            "digits, such as p3"
        )


def revoke(folder: Path, phone: str, since: str) -> PairedPhone:
    """Revoke a pairing: nothing more that it seals is taken.

    Parameters
    ----------
    folder : Path
        The block folder.
    phone, since : str
        Its phone code and when it was paired, as its row says.

    Returns
    -------
    PairedPhone
        As it stands now; revoking twice changes nothing.

    Raises
    ------
    IntakeError
        If there is no such pairing.
    """
    with _held(folder):
        phones = load_phones(folder)
        mine = [one for one in phones if (one.phone, one.since) == (phone, since)]
        if not mine:
            raise IntakeError(f"phone {phone!r}: no such pairing; look at the list again")
        revoked = dataclasses.replace(mine[0], standing="revoked")
        _save(folder, tuple(revoked if one == mine[0] else one for one in phones))
        return revoked


def key_of_phone(folder: Path, phone: str) -> bytes | None:
    """Give the key that a phone code is paired with now; None if it is not."""
    current = [p for p in load_phones(folder) if p.phone == phone and p.standing == "paired"]
    return current[-1].key if current else None


def check_seal(folder: Path, manifest: Manifest) -> PairedPhone:
    """Find the pairing that sealed a hand-over.

    Parameters
    ----------
    folder : Path
        The block folder.
    manifest : Manifest
        The hand-over's.

    Returns
    -------
    PairedPhone
        Its pairing.

    Raises
    ------
    IntakeError
        If it is unsealed, sealed by no phone of this block, by a revoked one, or with the key
        that another device uses already.
    """
    code = manifest.device.partition("-")[0]
    own = [p for p in load_phones(folder) if p.phone == code]
    if manifest.seal is None:
        raise IntakeError("it is not sealed; take it with --unsealed if you know where it is from")
    if not own:
        raise IntakeError(
            f"the phone {manifest.device} was never paired with this block; pair it, or take the "
            "file with --unsealed if you know where it is from"
        )
    fitting = [p for p in own if seal_fits(manifest, p.key)]
    if not fitting:
        raise IntakeError(
            f"its seal is not that of a phone paired as {code}; the file was changed or made on "
            "another phone; make it again, or take it with --unsealed if you know where it is from"
        )
    fitting.sort(key=lambda p: (p.standing == "revoked", p.device not in {None, manifest.device}))
    used = fitting[0]
    if used.standing == "revoked":
        raise IntakeError(f"the phone {manifest.device} was revoked; nothing of it is taken")
    if used.device not in {None, manifest.device}:
        raise IntakeError(
            f"{manifest.device} seals with the key of {used.device}: the app was installed again, "
            "or one pairing file used twice; nothing is lost, the phone keeps it: pair it again "
            f"with `fallow pair {code}`, let it take the new file in and make its hand-over "
            "again, or take this one with --unsealed if you know where it is from"
        )
    return used


def bind(folder: Path, used: PairedPhone, device: str) -> None:
    """Note which install uses a key, at its first hand-over."""
    if used.device is not None:
        return
    with _held(folder):
        _save(folder, tuple(
            dataclasses.replace(one, device=device) if one == used else one
            for one in load_phones(folder)
        ))
