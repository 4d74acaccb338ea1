"""The report's sections on what regrew, on scrub and water, on work and on trials.

Rule 1: they show what `sync.plan` works out, in the words of the commands of the same names.
Rule 2: a section with nothing to tell is one line.
"""

import dataclasses
from collections.abc import Sequence

from sync.plan.trial import TrialSeen
from sync.plan.watched import Watched
from sync.register.build import Register
from sync.report.condition import (
    LEVELS,
    class_condition_table,
    condition_table,
    work_table,
    work_words,
)
from sync.report.recovery import recovery_table, recovery_words
from sync.report.table import Shown
from sync.report.trials import trial_head, trial_table, trial_verdict
from sync.report.upkeep import upkeep_table, upkeep_words


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


def watched_sections(register: Register, watched: Watched) -> tuple[Section, ...]:
    """Give the sections.

    Parameters
    ----------
    register : Register
        Of the day asked about.
    watched : Watched
        Of the same.

    Returns
    -------
    tuple of Section
        What regrew, condition, work, trials.
    """
    return (_regrew(register, watched), _condition(watched), _work(register, watched),
            _trials(watched.trials))


def _regrew(register: Register, watched: Watched) -> Section:
    found = watched.recovery
    words = recovery_words(found, back_chance=register.tunables.back_chance)
    table = recovery_table(found) if found.cells else None
    note = ["Shed-dry kg, ± one standard deviation; a * does not teach the growth rate."]
    return Section("regrew", "What regrew", [Part(note if table else [], table, words)])


def _condition(watched: Watched) -> Section:
    found = watched.condition
    if not found.cells:
        none = "No plot was read for scrub or water in two surveys yet."
        return Section("condition", "Condition", [Part([none], None, [])])
    return Section("condition", "Condition", [
        Part([("Plots read in two surveys: scrub in % of the ground, water table in mm, negative "
               "below the moss surface; change from the first reading to the latest.")],
             condition_table(found), [LEVELS]),
        Part([], class_condition_table(found), [])])


def _work(register: Register, watched: Watched) -> Section:
    found, upkeep = watched.condition, watched.upkeep
    if not found.works:
        return Section("work", "Work", [Part(work_words(found), None, [])])
    sums = upkeep_table(upkeep, season_start=register.block.season_start)
    return Section("work", "Work", [Part([], work_table(found), work_words(found)),
                                    Part([], sums, upkeep_words(upkeep))])


def _trials(trials: Sequence[TrialSeen]) -> Section:
    if not trials:
        return Section("trials", "Trials", [Part(["No trial was drawn yet."], None, [])])
    return Section("trials", "Trials", [
        Part(trial_head(seen), trial_table(seen) if seen.pairs else None, trial_verdict(seen))
        for seen in trials])
