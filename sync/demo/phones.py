"""The five phones of the made-up block: real journals, real hand-over files, real sheets.

Rule 1: a phone learns of the block only by its pairing and its ground sheets.
Rule 2: what a phone noted reaches the shed only as a hand-over file.
"""

import dataclasses
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import fieldapp
from fieldapp.capture.outing import Outing
from fieldapp.capture.tally import Tally
from fieldapp.device.files import hand_over, save_hand_over
from fieldapp.device.journal import Journal
from fieldapp.device.pairing import pairing_of
from fieldapp.ground import Sheet, unpack_sheet
from fieldapp.record import Where
from sync.demo.place import ZONE


@dataclasses.dataclass
class DemoPhone:
    """One phone.

    Attributes
    ----------
    handed : int
        Highest number in any hand-over made so far.
    behind : timedelta
        How far its clock is behind.
    """

    code: str
    device: str
    block: str
    key: bytes = dataclasses.field(repr=False)
    journal: Journal
    out: Path
    sheet: Sheet | None = None
    handed: int = 0
    behind: timedelta = timedelta(0)
    running: Outing | None = None

    def outing(self) -> Outing:
        """Give the outing that is open, or one to start; the app runs on from day to day."""
        if self.running is None:
            self.running = Outing(self.journal, sheet=self.sheet)
        return self.running

    def tally(self, outing: Outing) -> Tally:
        """Give the tally of an outing."""
        return Tally(outing, zone=ZoneInfo(ZONE))

    def clock(self, at: datetime) -> datetime:
        """Give what this phone's clock shows at an instant."""
        return at - self.behind

    def where(self, lat: float, lon: float, acc_m: float) -> Where:
        """Give a fresh fix as this phone writes it; it knows how wrong its clock is."""
        lag_s = -self.behind.total_seconds() if self.behind else 0.2
        return Where(round(lat, 8), round(lon, 8), 0.0, acc_m, lag_s, mock=False)

    def hand_over(self, made_at: datetime) -> Path | None:
        """Make a hand-over file of all that is new since the last; None if nothing is."""
        first, last = self.handed + 1, self.journal.last_seq()
        if last < first:
            return None
        data = hand_over(
            self.journal, (first, last), block=self.block, program=fieldapp.__version__,
            made_at=self.clock(made_at), key=self.key,
        )
        self.handed = last
        return save_hand_over(self.out, data, device=self.device, span=(first, last))

    def take_sheet(self, path: Path) -> None:
        """Take a ground sheet; what the shed holds is noted in the journal."""
        self.sheet = unpack_sheet(path.read_bytes(), key=self.key)
        self.journal.acknowledge(self.sheet.held_by(self.device))


def unbox(pairing: Path, tag: str, home: Path, out: Path) -> DemoPhone:
    """Set up a phone from its pairing file.

    Parameters
    ----------
    pairing : Path
        The file that `fallow pair` wrote; it is deleted, as a person should.
    tag : str
        Install tag, four of a-z and 2-7.
    home, out : Path
        Where its journal is, and where its hand-overs go.

    Returns
    -------
    DemoPhone
        With an empty journal.
    """
    told = pairing_of(pairing.read_bytes())
    pairing.unlink()
    device = f"{told.phone}-{tag}"
    journal = Journal.open(home / f"{device}.sqlite", device=device)
    return DemoPhone(told.phone, device, told.block, told.key, journal, out)
