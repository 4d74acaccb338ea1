"""The plan's sections on what is watched: scrub and water, work, trials, what regrew, the survey.

Rule 1: figures are those of `sync.plan.watched`, worked out with the register; a request works
nothing out.
Rule 2: sentences of the register's own are English and marked so; its tables are made of figures
and messages, and said in the page's language.
"""

import dataclasses
from collections.abc import Sequence

from sync.report.condition import (
    class_condition_table,
    condition_table,
    work_table,
    work_words,
)
from sync.report.recovery import recovery_table, recovery_words
from sync.report.speech import Speech
from sync.report.table import Shown
from sync.report.trials import trial_head, trial_table, trial_verdict
from sync.report.upkeep import upkeep_table, upkeep_words
from sync.shed.browser.page import Page
from sync.shed.browser.survey_part import survey_section
from sync.shed.browser.watched_tables import Part, Section, Table, fold_of
from sync.shed.rebuild import View
from sync.shed.words import message

_RULES = frozenset({"scrub_spreading", "drying"})
_CONDITION = (
    message("cell"), message("ground class"), message("scrub %"),
    message("scrub at plots read twice"), message("change, points"), message("plots of scrub"),
    message("water mm"), message("water at plots read twice"), message("change, mm"),
    message("against the block, mm"), message("plots of water"), message("read"))
_CLASSES = (
    message("ground class"), message("scrub, points"), message("range of scrub"),
    message("plots of scrub"), message("water against the block, mm"), message("range of water"),
    message("plots of water"))
_WORKS = (message("done"), message("work"), message("cells"), message("hours"),
          message("change after it"), message("90 % range"), message("plots"))
_SUMS = (message("work"), message("season"), message("times"), message("ha"), message("hours"),
         message("h/ha"))
_PAIRS = (
    message("cell of a pair"), message("ground class"), message("treated on"), message("read"),
    message("before, L/m²"), message("after, L/m²"), message("change, L/m²"),
    message("difference, L/m²"))
_REGREW = (
    message("cell"), message("ground class"), message("picked until"), message("picked kg"),
    message("read"), message("years"), message("forecast kg"), message("measured kg"),
    message("surprise"), message("% of rested"))


def watched_part(page: Page, view: View) -> list[Section]:
    """Give the sections of what is watched.

    Parameters
    ----------
    page : Page
        For its words, links, and which tables are asked for whole.
    view : View
        The register with all that is watched on it.

    Returns
    -------
    list of Section
        Condition, work, trials, recovery, survey.
    """
    return [_condition(page, view), _work(page, view), _trials(page, view),
            _recovery(page, view), survey_section(page, view)]


def _condition(page: Page, view: View) -> Section:
    words, found = page.words, view.watched.condition
    links = [(words("Map of scrub"), page.link("/block", layer="scrub")),
             (words("Map of water"), page.link("/block", layer="water"))]
    if not found.cells:
        said = words("No plot was read for scrub or water in two surveys yet: peg some, and read "
                     "them again.")
        return Section("condition", words("Scrub and water"), said, links, [])
    flagged = {flag.about for flag in view.flags if flag.rule in _RULES}
    shown = condition_table(found, _speech(page))
    rows = tuple((f"{row[0]}\u00a0⚑" if row[0] in flagged else row[0], *row[1:])
                 for row in sorted(shown.rows, key=lambda row: row[0] not in flagged))
    cells = dataclasses.replace(shown, rows=rows)
    lead = words("Scrub % and water mm are of all plots of the latest survey, as on the maps. The "
                 "change is that of plots read in two surveys alone, from the first reading to "
                 "the latest, so that it need not lead to the level beside it. Flagged cells (⚑) "
                 "come first.")
    return Section("condition", words("Scrub and water"), lead, links, [
        Part((), _table(page, view, "condition", words("Cells"), _CONDITION, cells), ()),
        Part((), _table(page, view, "classes", words("Ground classes"), _CLASSES,
                        class_condition_table(found, _speech(page))), ())])


def _work(page: Page, view: View) -> Section:
    words, watched = page.words, view.watched
    links = [(words("Map of work"), page.link("/block", layer="work"))]
    works = watched.condition
    if not works.works:
        return Section("work", words("Work done, hours and cost"),
                       words("No work was noted yet."), links, [])
    shown = work_table(works, _speech(page))
    newest = dataclasses.replace(shown, rows=tuple(reversed(shown.rows)))
    sums = upkeep_table(watched.upkeep, season_start=view.register.block.season_start,
                        speech=_speech(page))
    heads = (*_SUMS, *sums.columns[len(_SUMS):])
    return Section("work", words("Work done, hours and cost"), "", links, [
        Part((), _table(page, view, "works", words("Work done"), _WORKS, newest),
             tuple(work_words(works))),
        Part((), _table(page, view, "hours", words("Hours and cost by season"), heads, sums),
             tuple(upkeep_words(watched.upkeep)))])


def _trials(page: Page, view: View) -> Section:
    words = page.words
    if not view.watched.trials:
        return Section("trials", words("Trials"), words("No trial was drawn yet."), [], [])
    parts = []
    for place, seen in enumerate(view.watched.trials):
        table = _table(page, view, f"trial{place}", seen.trial, _PAIRS,
                       trial_table(seen, _speech(page)))
        parts.append(Part(tuple(trial_head(seen)), table if seen.pairs else None,
                          tuple(trial_verdict(seen))))
    return Section("trials", words("Trials"), "", [], parts)


def _recovery(page: Page, view: View) -> Section:
    words, found = page.words, view.watched.recovery
    links = [(words("Map of crop come back"), page.link("/block", layer="rested"))]
    said = tuple(recovery_words(found, back_chance=view.register.tunables.back_chance))
    lead = words("Shed-dry kg, ± one standard deviation; a * does not teach the growth rate.")
    table = _table(page, view, "recovery", words("What regrew"), _REGREW,
                   recovery_table(found, _speech(page)))
    return Section("recovery", words("What regrew"), lead if found.cells else "", links,
                   [Part((), table if found.cells else None, said)])


def _table(
    page: Page, view: View, name: str, caption: str, heads: Sequence[str], shown: Shown
) -> Table:
    """Give a table for the page: names of cells are links, long ones are cut."""
    cells, fold = view.register.crop.cells, fold_of(page, name, shown.rows)
    rows = []
    for row in fold.rows:
        cell = row[0].split("\u00a0")[0].split(" ")[0]
        rows.append({"name": row[0],
                     "href": page.cell(cell) if cell in cells else "",
                     "boxes": [(value, place not in shown.left)
                               for place, value in enumerate(row[1:], 1)]})
    return Table(name, caption, [page.words(head) for head in heads], shown.left,
                 dataclasses.replace(fold, rows=rows))


def _speech(page: Page) -> Speech:
    """Say a table in the page's language, its days unbroken."""
    words = page.words
    return Speech(words, words.number, lambda on: words.day(on).replace(" ", "\u00a0"))
