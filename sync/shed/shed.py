"""All that one running server holds: the folder, who is signed in, what is being built.

Rule 1: nothing in here outlives the process but what `sync.disk` wrote; after a restart phones
and browsers sign in again and lose nothing.
"""

import dataclasses
import threading
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from sync.disk.folder import load_block
from sync.disk.uploads import forget_leftovers
from sync.shed.limits import Allowances, Limits
from sync.shed.pairing import PairingDesk
from sync.shed.phone_sessions import PhoneSessions
from sync.shed.rebuild import Rebuilder
from sync.shed.seasons_desk import SeasonsDesk
from sync.shed.sign_in import SignIn


@dataclasses.dataclass(frozen=True)
class Clocks:
    """The clocks a server goes by: the time, UTC, and seconds that never go back."""

    now: Callable[[], datetime]
    seconds: Callable[[], float]


@dataclasses.dataclass(frozen=True)
class Shed:
    """One running server.

    Attributes
    ----------
    addresses : tuple of str
        `HOST:PORT` at which phones may reach it, the likeliest first.
    pin : str
        SHA-256 of its certificate, hex.
    taking : Lock
        Files are taken in one after the other.
    written : dict
        Names of records that came of a form lately, by the form and its content: a form that is
        sent twice is written down once. Used under `taking`.
    """

    folder: Path
    addresses: tuple[str, ...]
    pin: str
    clocks: Clocks
    limits: Limits
    sign_in: SignIn
    desk: PairingDesk
    phones: PhoneSessions
    rebuilder: Rebuilder
    allowances: Allowances
    seasons: SeasonsDesk
    taking: threading.Lock = dataclasses.field(default_factory=threading.Lock)
    written: dict[tuple[str, bytes], str] = dataclasses.field(default_factory=dict, repr=False)


def shed_of(
    folder: Path, *, addresses: tuple[str, ...], pin: str, key: str, clocks: Clocks,
    limits: Limits | None = None,
) -> Shed:
    """Put a server together; nothing of it runs yet.

    Parameters
    ----------
    folder : Path
        The block folder; it is read once, so that a broken one is refused before any door opens,
        and rid of what uploads of long ago have left.
    addresses : tuple of str
        `HOST:PORT`, the likeliest first.
    pin, key : str
        Of the certificate; the owner's.
    clocks : Clocks
        To go by.
    limits : Limits, optional
        The usual ones if left out.

    Returns
    -------
    Shed
        Whose `rebuilder` is to be started.

    Raises
    ------
    DiskError, SettingsError
        If the folder cannot be read.
    """
    load_block(folder)
    forget_leftovers(folder, now=clocks.now())
    held_to = limits or Limits()
    seconds = clocks.seconds
    return Shed(
        folder, addresses, pin, clocks, held_to,
        SignIn(key, clock=seconds, session_s=held_to.session_s),
        PairingDesk(pin, clock=seconds), PhoneSessions(clock=seconds, lasts_s=held_to.phone_s),
        Rebuilder(folder, now=clocks.now), Allowances(seconds),
        SeasonsDesk(seconds),
    )
