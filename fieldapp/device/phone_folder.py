"""The folder of one phone: all it keeps, and the one place that knows where.

    identity.json settings.json made.json
    DEVICE/journal.sqlite sheet.json photos/      one for each install
    in/ in/taken/ in/refused/                     brought to the phone
    out/                                          hand-overs made, what a person asked for
    link/                                         the file being sent, the shed's last address
    sounds/                                       of the signs, made when first played

Rule 1: nobody else names a path in it, and only its owner may look into it.
Rule 2: what one block brought or noted never lands with another.
Rule 3: only a sheet sealed by the key of the install it is for is taken.
"""

import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import datetime, timedelta
from pathlib import Path

from fieldapp.device import inbox, outbox
from fieldapp.device.files import write_safely
from fieldapp.device.identity import Identity, Install
from fieldapp.device.inbox import TakenIn
from fieldapp.device.journal import Journal, JournalError
from fieldapp.device.link import sending
from fieldapp.device.link.address import address_of
from fieldapp.device.link.pair import pair
from fieldapp.device.link.sending import Outcome
from fieldapp.device.link.trouble import LinkError
from fieldapp.device.link.upload import Tell
from fieldapp.device.outbox import LastMade, Made
from fieldapp.device.pairing import pairing_of
from fieldapp.device.settings import PhoneSettings, load_settings, save_settings
from fieldapp.device.sheet import keep_sheet, kept_sheet, told_of
from fieldapp.device.store import StoreError, keep_one, kept_one
from fieldapp.ground import GroundError, Sheet

#: Tracks that the shed holds are let go of after so long.
KEPT_TRACKS = timedelta(days=14)
_OWNER_ONLY = 0o700
_JOURNAL = "journal.sqlite"
_BYTES_A_MB = 1_000_000
#: Letters of a foreign name that a message shows.
_SHOWN = 40


class PhoneFolder:
    """All that one phone keeps.

    Parameters
    ----------
    root : Path
        Its folder, made if missing; on the phone's own storage, where the system makes no
        backups.

    Raises
    ------
    OSError
        If it cannot be made.
    """

    def __init__(self, root: Path) -> None:
        self._root = root
        self._turn = threading.Lock()
        root.mkdir(mode=_OWNER_ONLY, parents=True, exist_ok=True)
        for name in ("in", "in/taken", "in/refused", "out", "link"):
            (root / name).mkdir(mode=_OWNER_ONLY, exist_ok=True)

    @property
    def out(self) -> Path:
        """The folder of the hand-overs made, for whoever carries them off."""
        return self._root / "out"

    def installs(self) -> tuple[Install, ...]:
        """Give all installs, the one in use last.

        Raises
        ------
        StoreError
            If who this phone is cannot be read any more.
        """
        with self._identity() as identity:
            return identity.installs()

    def in_use(self) -> Install:
        """Give the install in use; before any pairing one is made, as `x-k7f2`."""
        with self._identity() as identity:
            return identity.in_use()

    def use(self, device: str) -> Install:
        """Turn to another block that this phone serves.

        Raises
        ------
        KeyError
            If this phone never had that device name.
        """
        with self._identity() as identity:
            return identity.use(device)

    def journal(self, install: Install) -> Journal:
        """Open an install's journal, to be closed by the caller.

        Raises
        ------
        JournalError
            If it is damaged or out of reach.
        """
        return Journal.open(self._of(install) / _JOURNAL, device=install.device)

    def photos(self, install: Install) -> Path:
        """Give the folder of an install's photos; it exists."""
        folder = self._of(install) / "photos"
        folder.mkdir(mode=_OWNER_ONLY, exist_ok=True)
        return folder

    def sheet(self, install: Install) -> Sheet | None:
        """Give an install's newest ground sheet; None if there is none."""
        return kept_sheet(self._sheet_path(install))

    def settings(self) -> PhoneSettings:
        """Give the settings, the usual ones at first."""
        return load_settings(self._root / "settings.json")

    def save_settings(self, settings: PhoneSettings) -> None:
        """Keep the settings.

        Raises
        ------
        ValueError
            If one has no such choice.
        OSError
            If they could not be written.
        """
        save_settings(self._root / "settings.json", settings)

    def free_mb(self) -> float | None:
        """Give the room left on the phone's storage; None if it does not say. [MB]."""
        try:
            return shutil.disk_usage(self._root).free / _BYTES_A_MB
        except OSError:
            return None

    def sound(self, name: str, content: bytes) -> str:
        """Keep a sound where a player can open it, and give its path."""
        path = self._root / "sounds" / f"{name}.wav"
        if not path.is_file() or path.read_bytes() != content:
            path.parent.mkdir(mode=_OWNER_ONLY, exist_ok=True)
            write_safely(path, content)
        return str(path)

    def bring(self, name: str, content: bytes) -> str:
        """Put a file that was brought to the phone where `take_in` finds it.

        Parameters
        ----------
        name : str
            What its sender calls it; of a path only the last part counts.
        content : bytes
            All of it.

        Returns
        -------
        str
            The name it lies under now.
        """
        return inbox.bring(self._root / "in", name, content).name

    def take_in(self) -> tuple[TakenIn, ...]:
        """Take what was brought to the phone: pairings, then sheets; see `inbox.take_in`."""
        return inbox.take_in(self._root / "in", pair=self._pair, keep_sheet=self._keep_sheet)

    def make_hand_overs(self, *, now: datetime, program: str) -> tuple[Made, ...]:
        """Make the hand-overs of every install whose records the shed may lack, into `out/`.

        Parameters
        ----------
        now : datetime
            Aware.
        program : str
            The program's version.

        Returns
        -------
        tuple of Made
            One a file, the install in use last; one without a file for a journal that cannot
            be read. Empty if the shed holds all.

        Raises
        ------
        OSError
            If a file could not be written; those made before stand.
        """
        made: list[Made] = []
        for install in self.installs():
            try:
                made.extend(self._made_of(install, now, program))
            except JournalError as error:
                made.append(Made(install.device, 0, 0, 0, "", str(error)))
        whole = [one for one in made if one.path_name]
        if whole:
            outbox.keep_last(self._root / "made.json", whole, now)
        return tuple(made)

    def forget_old_tracks(self, *, now: datetime) -> int:
        """Let go of where people walked, once the shed holds it and it is two weeks old.

        Parameters
        ----------
        now : datetime
            Aware.

        Returns
        -------
        int
            Tracks let go of, of all installs; what a journal or a file would not do now, it does
            the next time.
        """
        forgotten = 0
        for install in self.installs():
            if (self._of(install) / _JOURNAL).exists():
                with suppress(JournalError, OSError), self.journal(install) as journal:
                    forgotten += journal.forget_tracks(before=now - KEPT_TRACKS)
                    outbox.drop_held(self.out, install.device, below=journal.first_unsent(),
                                     before=now - KEPT_TRACKS)
        return forgotten

    def write_mine(self, install: Install, content: bytes) -> str:
        """Put what a person asked for of their own into `out/`, in the place of the last.

        Raises
        ------
        OSError
            If it could not be written; the last then stands.
        """
        path = self.out / f"{install.device}-mine.json"
        write_safely(path, content, private=True)
        return path.name

    def last_made(self) -> LastMade | None:
        """Say when the last hand-over was made, whose, and its first and last number."""
        return outbox.kept_last(self._root / "made.json")

    def pair_over_wifi(self, address: str, code: str) -> Install:
        """Pair with a shed that answers, by the code on its page.

        Parameters
        ----------
        address : str
            As `192.168.1.5:8417`; kept for the next time, whatever comes of it.
        code : str
            Eight digits.

        Returns
        -------
        Install
            Now in use, with the shed's pin and address.

        Raises
        ------
        LinkError
            If the shed is out of reach, refuses, or is none; then nothing is changed.
        OSError
            If the phone's storage failed.
        """
        found = address_of(address)
        keep_one(self._last_address(), {"address": str(found)})
        paired = pair(found, code)
        with self._identity() as identity:
            return identity.pair(paired.pairing, pin=paired.pin, address=str(found))

    def shed_at(self, address: str) -> Install:
        """Keep that the shed in use now answers elsewhere; its pin still tells it from others.

        Raises
        ------
        LinkError
            If it is no address.
        """
        found = str(address_of(address))
        keep_one(self._last_address(), {"address": found})
        with self._identity() as identity:
            return identity.shed_at(found)

    def last_address(self) -> str:
        """Give where a shed was last looked for; empty if none ever was."""
        try:
            kept = kept_one(self._last_address()) or {}
            return str(address_of(str(kept.get("address", ""))))
        except (StoreError, LinkError):
            return ""

    def send_to_shed(self, *, now: datetime, program: str, tell: Tell,
                     stop: threading.Event) -> Outcome:
        """Hand over what the shed of the install in use may lack, and fetch the sheet.

        Parameters
        ----------
        now : datetime
            Aware.
        program : str
            The program's version.
        tell : callable
            Told how far the file being sent is: bytes at the shed, bytes in all.
        stop : threading.Event
            Set when the app closes; the next hand-over goes on from there.

        Returns
        -------
        Outcome
            What went over, what is left, and the name of the sheet that waits for `take_in`.

        Raises
        ------
        LinkError
            If the install in use was never paired over Wi-Fi.
        OSError, StoreError
            If the phone's own files failed it.
        """
        installs = self.installs()
        store = sending.Store(self.journal, self.photos, self._root / "link", self.bring)
        there = [one for one in installs[:-1] if (self._of(one) / _JOURNAL).exists()]
        return sending.send((*there, installs[-1]), store, now=now, program=program, tell=tell,
                            stop=stop)

    def _made_of(self, install: Install, now: datetime, program: str) -> list[Made]:
        if not (self._of(install) / _JOURNAL).exists():
            return []
        with self.journal(install) as journal:
            return list(outbox.make_hand_over(self.out, journal, self.photos(install), install,
                                              now=now, program=program))

    def _pair(self, content: bytes) -> str:
        with self._identity() as identity:
            return identity.pair(pairing_of(content)).device

    def _keep_sheet(self, content: bytes) -> str:
        block, phone = told_of(content)
        install = _for(self.installs(), block, phone)
        sheet = keep_sheet(self._sheet_path(install), content, key=install.key)
        with self.journal(install) as journal:
            journal.acknowledge(sheet.held_by(install.device))
        return install.device

    def _last_address(self) -> Path:
        return self._root / "link" / "address.json"

    @contextmanager
    def _identity(self) -> Iterator[Identity]:
        # A pairing over Wi-Fi is kept by its own thread, while the screens may turn to a block.
        with self._turn, Identity(self._root / "identity.json") as identity:
            yield identity

    def _sheet_path(self, install: Install) -> Path:
        return self._of(install) / "sheet.json"

    def _of(self, install: Install) -> Path:
        folder = self._root / install.device
        folder.mkdir(mode=_OWNER_ONLY, exist_ok=True)
        return folder


def _for(installs: tuple[Install, ...], block: str, phone: str) -> Install:
    """Give the install that a sheet says it is for; its seal is still to be tried."""
    paired = [one for one in installs if one.key is not None]
    if not paired:
        raise GroundError("this phone is not paired: bring its pairing file from the shed first")
    there = [one for one in paired if one.block == block]
    if not there:
        names = ", ".join(sorted({f"{one.block_name} ({one.block})" for one in paired}))
        raise GroundError(f"the sheet is of block {block[:_SHOWN]!a} and this phone serves "
                          f"{names}: fetch that block's sheet, or pair this phone there")
    own = [one for one in there if one.device.partition("-")[0] == phone]
    if not own:
        codes = ", ".join(sorted(one.device.partition("-")[0] for one in there))
        raise GroundError(f"the sheet is for phone {phone[:_SHOWN]!a} and this phone is {codes} "
                          "there: fetch this phone's own")
    return own[-1]
