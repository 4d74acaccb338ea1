"""The register behind the pages: built in the background, whole, and swapped in when it is done.

Rule 1: a page shows one register, never parts of two; while a new one is built the old one stands.
Rule 2: many requests to build while one is built are one more build, not many.
Rule 3: what the journal held is looked at before it is read, so that a register never claims to
know what came in while it was built.
Rule 4: after a build, tracks whose time is over are let go of.
Rule 5: at midnight a new one is built, though nothing came in: what rests or is held may be free.
"""

import dataclasses
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping
from datetime import date, datetime
from pathlib import Path
from typing import Any

from sync.crop.kept import Kept
from sync.disk.draws import read_draws
from sync.disk.journal import ShedJournal
from sync.disk.kept import KeptReads
from sync.disk.load import load_inputs, today_in
from sync.disk.register_file import keep_register
from sync.disk.thin import is_due, thin
from sync.errors import FallowError
from sync.flags.flag import Flag
from sync.flags.raised import flags_of
from sync.plan.watched import Watched, watched_of
from sync.register.build import Register, build, by_itself
from sync.register.doubts import Doubt, doubts_of
from sync.report.document import register_document

#: The steps of a build, in words.
READING, WORKING, FLAGS, WRITING = range(1, 5)
STEPS = 4
#: Registers of other days that are kept; each takes some MB.
_KEPT_DAYS = 4
_PATIENCE_S = 5.0
#: How often the idle builder looks whether its day is over. [s]
_LOOK_S = 15.0

#: What changes when the journal or the owner's files do.
Mark = tuple[Any, ...]


@dataclasses.dataclass(frozen=True)
class View:
    """A register as the pages show it.

    Attributes
    ----------
    document : mapping
        As `fallow register --json` prints it.
    watched : Watched
        Scrub, water, work, trials and what regrew.
    draws : tuple of mapping
        Of plots, as plots.json holds them.
    mark : tuple
        What the folder looked like when it was read.
    built_at : datetime
        UTC.
    """

    register: Register
    flags: tuple[Flag, ...]
    document: Mapping[str, Any]
    doubts: tuple[Doubt, ...]
    mark: Mark
    built_at: datetime
    watched: Watched
    draws: tuple[Mapping[str, Any], ...] = ()


@dataclasses.dataclass(frozen=True)
class State:
    """How the building stands: the step it is at, 0 if idle, and what went wrong the last time."""

    step: int
    wrong: str | None


class Rebuilder:
    """Builds registers of a block folder.

    Parameters
    ----------
    folder : Path
        The block folder.
    now : callable
        Gives the time, UTC.
    """

    def __init__(self, folder: Path, *, now: Callable[[], datetime]) -> None:
        self._folder = folder
        self._now = now
        self._turn = threading.Condition()
        self._wanted = self._done = 0
        self._ending = False
        self._view: View | None = None
        self._state = State(0, None)
        self._days: OrderedDict[tuple[date, Mark], View] = OrderedDict()
        self._days_turn = threading.Lock()
        # Of today's register, which only the builder's thread builds.
        self._kept, self._made = KeptReads(), Kept()
        # The day and the rulings with which no track could go.
        self._looked: tuple[date, int] | None = None
        self._thread = threading.Thread(target=self._work, name="register", daemon=True)

    def start(self) -> None:
        """Begin to build; the first register is asked for at once."""
        self.ask()
        self._thread.start()

    def stop(self) -> None:
        """End after the build that is on its way."""
        with self._turn:
            self._ending = True
            self._turn.notify_all()
        self._thread.join(_PATIENCE_S)

    def ask(self) -> int:
        """Ask for a register of all that is on disk now.

        Returns
        -------
        int
            For `wait`.
        """
        with self._turn:
            self._wanted += 1
            self._turn.notify_all()
            return self._wanted

    def wait(self, asked: int, *, most_s: float) -> View | None:
        """Wait for what was asked for.

        Parameters
        ----------
        asked : int
            As `ask` gave it.
        most_s : float
            How long at most. [s]

        Returns
        -------
        View or None
            The newest there is; None if none was ever built.
        """
        with self._turn:
            self._turn.wait_for(lambda: self._done >= asked or self._ending, most_s)
            return self._view

    def is_done(self, asked: int) -> bool:
        """Say whether what was asked for is built, or never will be."""
        with self._turn:
            return self._done >= asked or self._ending

    def view(self) -> View | None:
        """Give the newest register; None before the first is built."""
        with self._turn:
            return self._view

    def state(self) -> State:
        """Say how the building stands."""
        with self._turn:
            return self._state

    def on(self, day: date | None) -> View | None:
        """Give the register of a day; of today that is the newest that was built.

        Parameters
        ----------
        day : date or None
            Local day; None is today.

        Returns
        -------
        View or None
            None while the first is being built.

        Raises
        ------
        FallowError
            If another day's cannot be built.
        """
        newest = self.view()
        if day is None or newest is None or newest.register.on == day:
            return newest
        with self._days_turn:
            mark = mark_of(self._folder)
            if (day, mark) not in self._days:
                self._days[day, mark] = self._built(day, lambda _: None)
            self._days.move_to_end((day, mark))
            while len(self._days) > _KEPT_DAYS:
                self._days.popitem(last=False)
            return self._days[day, mark]

    def is_old(self, view: View) -> bool:
        """Say whether today's register is of a former day, or its folder has changed since."""
        return self._day_is_over(view) or view.mark != mark_of(self._folder)

    def _day_is_over(self, view: View | None) -> bool:
        return view is not None and (
            view.register.on != today_in(view.register.block, self._now()))

    def _work(self) -> None:
        while True:
            with self._turn:
                wanted = self._turn.wait_for(
                    lambda: self._wanted > self._done or self._ending, _LOOK_S)
                if self._ending:
                    return
                asked = self._wanted
            if wanted or self._day_is_over(self._view):
                self._build_one(asked)

    def _build_one(self, asked: int) -> None:
        wrong: str | None = None
        view: View | None = None
        try:
            view = self._built(None, self._at)
            self._at(WRITING)
            keep_register(self._folder, view.document)
            self._let_go(view.register)
        except (FallowError, OSError) as failure:
            wrong = str(failure)
        except Exception as failure:  # the thread must outlive what nobody foresaw
            wrong = f"the register could not be built ({type(failure).__name__})"
        with self._turn:
            self._view = view or self._view
            self._done = asked
            self._state = State(0, wrong)
            self._turn.notify_all()

    def _let_go(self, register: Register) -> None:
        """Let go of tracks that are due; no figure of the register moves by it.

        A register reads tracks when they are asked for, so another is built that asks for none
        that are gone.
        """
        if not is_due(self._folder, register.block, register.tunables, now=self._now()):
            return
        # What keeps tracks is a ruling that is due; to look costs whole registers.
        looked = today_in(register.block, self._now()), len(register.events.rulings)
        if looked == self._looked:
            return
        if thin(self._folder, load_inputs(self._folder), now=self._now()).records:
            with self._days_turn:
                self._days.clear()
            self.ask()
        else:
            self._looked = looked

    def _built(self, day: date | None, tell: Callable[[int], None]) -> View:
        tell(READING)
        mark = mark_of(self._folder)
        inputs = load_inputs(self._folder, kept=self._kept if day is None else None)
        tell(WORKING)
        register = build(inputs, on=day or today_in(inputs.block, self._now()),
                         kept=self._made if day is None else None)
        tell(FLAGS)
        flags = flags_of(register)
        document = register_document(register, flags)
        doubts, watched = doubts_of(register), watched_of(register)
        if day is None:  # pages ask it on threads of their own, while the next one is built
            register = by_itself(register)
        return View(register, flags, document, doubts, mark, self._now(), watched,
                    read_draws(self._folder).draws)

    def _at(self, step: int) -> None:
        with self._turn:
            self._state = State(step, None)


def mark_of(folder: Path) -> Mark:
    """Give a sign that changes with the journal or with a file the owner writes by hand."""
    with ShedJournal(folder) as journal:
        held = journal.mark()
    files = sorted(
        (path.name, path.stat().st_mtime_ns, path.stat().st_size)
        for pattern in ("*.toml", "*.geojson", "plots.json", "trials.json")
        for path in folder.glob(pattern)
    )
    return (held, tuple(files))
