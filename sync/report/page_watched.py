"""The report's sections on what regrew, on scrub, water and work, and on trials.

Rule 1: they show what `sync.plan` works out, in the words of the commands of the same names.
Rule 2: a section with nothing to tell is one line.
"""

import dataclasses
from collections.abc import Sequence

from sync.plan.condition import condition_of
from sync.plan.pairs import by_trial
from sync.plan.recovery import recovery_of
from sync.plan.trial import trial_seen
from sync.register.build import Register
from sync.report.condition import (
    class_condition_table,
    condition_table,
    work_table,
    work_words,
)
from sync.report.recovery import recovery_table, recovery_words
from sync.report.table import Shown
from sync.report.trials import trial_head, trial_table, trial_verdict


@dataclasses.dataclass(frozen=True)
class Part:
    """Sentences before a table, the table if any, and sentences after it."""

    before: Sequence[str]
    table: Shown | None
    after: Sequence[str]


@dataclasses.dataclass(frozen=True)
class Section:
    """A heading, the name that a link finds it by, and what stands under it."""

    name: str
    title: str
    parts: Sequence[Part]


def watched_sections(register: Register) -> tuple[Section, ...]:
    """Give the sections.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Returns
    -------
    tuple of Section
        What regrew, condition, trials.
    """
    return _regrew(register), _condition(register), _trials(register)


def _regrew(register: Register) -> Section:
    found = recovery_of(register)
    words = recovery_words(found, back_chance=register.tunables.back_chance)
    table = recovery_table(found) if found.cells else None
    note = ["Shed-dry kg, ± one standard deviation; a * does not teach the growth rate."]
    return Section("regrew", "What regrew", [Part(note if table else [], table, words)])


def _condition(register: Register) -> Section:
    found = condition_of(register)
    parts = []
    if found.cells:
        parts.append(Part([("Plots read in two surveys: scrub in % of the ground, water table in "
                           "mm, negative below the moss surface; change from the first reading "
                           "to the latest.")], condition_table(found), []))
        parts.append(Part([], class_condition_table(found), []))
    else:
        parts.append(Part(["No plot was read for scrub or water in two surveys yet."], None, []))
    parts.append(Part([], work_table(found) if found.works else None, work_words(found)))
    return Section("condition", "Condition", parts)


def _trials(register: Register) -> Section:
    trials = by_trial(register.block.trials)
    if not trials:
        return Section("trials", "Trials", [Part(["No trial was drawn yet."], None, [])])
    parts = []
    for draws in trials.values():
        seen = trial_seen(register, draws)
        parts.append(Part(trial_head(seen), trial_table(seen) if seen.pairs else None,
                          trial_verdict(seen)))
    return Section("trials", "Trials", parts)
