"""The plan of seasons behind its page: worked out in the background, one at a time, and kept.

Rule 1: no request waits for the solver; the page says that it works and shows the plan before.
Rule 2: of wishes sent while one plan is worked out only the last are worked out next.
Rule 3: a plan is kept in memory and says by which register it was made.
"""

import dataclasses
import threading
from collections.abc import Callable

from sync.errors import FallowError
from sync.plan.seasons import SeasonPlan, plan_seasons
from sync.plan.wishes import Wishes
from sync.shed.rebuild import View

#: How far from the best, and the longest time; a page is asked more often than a command.
GAP, LIMIT_S = 0.01, 30.0


@dataclasses.dataclass(frozen=True)
class Made:
    """A plan and the register that it was made by."""

    plan: SeasonPlan
    view: View


@dataclasses.dataclass(frozen=True)
class DeskState:
    """How the desk stands: what is being worked out, the plan before, what went wrong."""

    busy: Wishes | None
    made: Made | None
    wrong: str | None


class SeasonsDesk:
    """Plans seasons for the pages.

    Parameters
    ----------
    seconds : callable
        A clock that never goes back.
    """

    def __init__(self, seconds: Callable[[], float]) -> None:
        self._seconds = seconds
        self._turn = threading.Condition()
        self._wanted: tuple[View, Wishes] | None = None
        self._running: Wishes | None = None
        self._made: Made | None = None
        self._wrong: str | None = None

    def ask(self, view: View, wishes: Wishes) -> None:
        """Ask for a plan; it is begun at once or after the one that is on its way."""
        with self._turn:
            self._wanted = (view, wishes)
            if self._running is None:
                self._running = wishes
                threading.Thread(target=self._work, name="seasons", daemon=True).start()

    def wait(self, *, most_s: float) -> DeskState:
        """Wait until nothing is being worked out, or as long as told. [s]."""
        with self._turn:
            self._turn.wait_for(lambda: self._running is None, most_s)
        return self.state()

    def state(self) -> DeskState:
        """Say how the desk stands."""
        with self._turn:
            return DeskState(self._running, self._made, self._wrong)

    def plan_of(self, view: View) -> SeasonPlan | None:
        """Give the plan made by a register; None where the one at hand is another's."""
        made = self.state().made
        return made.plan if made is not None and made.view is view else None

    def _work(self) -> None:
        while True:
            with self._turn:
                if self._wanted is None:
                    self._running = None
                    self._turn.notify_all()
                    return
                view, wishes = self._wanted
                self._wanted, self._running = None, wishes
            made, wrong = self._planned(view, wishes)
            with self._turn:
                self._made, self._wrong = made or self._made, wrong

    def _planned(self, view: View, wishes: Wishes) -> tuple[Made | None, str | None]:
        try:
            plan = plan_seasons(
                view.register, wishes, gap=GAP, limit_s=LIMIT_S, clock=self._seconds)
            return Made(plan, view), None
        except FallowError as failure:
            return None, str(failure)
        except Exception as failure:  # the thread must outlive what nobody foresaw
            return None, f"the seasons could not be planned ({type(failure).__name__})"
