"""What is watched over the seasons: scrub, water and work, trials, what regrew, and what it took.

Rule 1: worked out once for a register; whoever shows it works nothing out again.
"""

import dataclasses

from sync.plan.condition import Condition, condition_of
from sync.plan.pairs import by_trial
from sync.plan.recovery import Recovery, recovery_of
from sync.plan.trial import TrialSeen, trial_seen
from sync.plan.upkeep import Upkeep, upkeep_of
from sync.register.build import Register


@dataclasses.dataclass(frozen=True)
class Watched:
    """All that is watched, on a day; trials by name."""

    condition: Condition
    recovery: Recovery
    trials: tuple[TrialSeen, ...]
    upkeep: Upkeep


def watched_of(register: Register) -> Watched:
    """Work out all that is watched.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Returns
    -------
    Watched
        As the commands condition, recovery and trial tell it.
    """
    condition = condition_of(register)
    trials = tuple(trial_seen(register, draws)
                   for draws in by_trial(register.block.trials).values())
    return Watched(condition, recovery_of(register), trials,
                   upkeep_of(register, condition, trials))
