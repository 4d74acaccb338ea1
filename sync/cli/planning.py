"""The seasons planned for a command: with a clock, and with the solver's own chatter kept off.

Rule 1: HiGHS prints some lines past every option of its own and past Python's streams, straight to
the process's stdout; so it is kept off there, and only while nothing of ours is written to it.
"""

import contextlib
import os
import sys
import time
from collections.abc import Iterator

from sync.cli.shown import progress_console
from sync.plan.seasons import SeasonPlan, plan_seasons
from sync.plan.wishes import Wishes
from sync.register.build import Register


def planned(register: Register, wishes: Wishes, *, gap: float, limit_s: float) -> SeasonPlan:
    """Plan with the solver's own chatter kept off the results.

    Parameters
    ----------
    register : Register
        Of the day asked about.
    wishes : Wishes
        What is asked.
    gap : float
        How far from the best it may be. [-]
    limit_s : float
        Longest time for the solver. [s]
    """
    with progress_console().status("planning"), solver_is_quiet():
        return plan_seasons(register, wishes, gap=gap, limit_s=limit_s, clock=time.monotonic)


@contextlib.contextmanager
def solver_is_quiet() -> Iterator[None]:
    """Send what the solver's library prints by itself to nowhere: stdout holds results only.

    The whole process is quiet meanwhile, all its threads too.
    """
    sys.stdout.flush()
    try:
        kept = os.dup(1)
    except OSError:  # no stdout at all: nothing to keep clean
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)
