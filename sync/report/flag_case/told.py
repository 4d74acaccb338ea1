"""A flag's page as a list of sections, the same for terminal and paper.

Rule 1: people stand by person code only; names stay at the shed.
Rule 2: it shows the case and works out nothing new.
"""

import dataclasses
from collections.abc import Iterator

from sync.flags.flag import Flag
from sync.intake.merge import Counted
from sync.report.flag_case.bags_told import bags_section
from sync.report.flag_case.figures import figure_words
from sync.report.flag_case.ground_told import ground_section
from sync.report.flag_case.parts import (
    MOST_ROWS,
    Dossier,
    Section,
    listed,
    say_day,
    season_words,
)
from sync.report.flag_case.phones_told import phones_section
from sync.report.flag_case.settle import settled_by
from sync.report.page_flags import RULING_WORDS, flag_title, sentence, sure_words
from sync.report.table import Shown

#: Records named at the end; all are counted.
_NAMED = 16
#: Rules whose sections tell all of their figures.
_TOLD_WHOLE = frozenset({"early_pick", "over_pick", "closed_ground", "outside_block"})


@dataclasses.dataclass(frozen=True)
class Folio:
    """A page about one flag: its title, a line under it, and its sections."""

    title: str
    under: str
    sections: tuple[Section, ...]


def folio_of(told: Dossier) -> Folio:
    """Tell a case.

    Parameters
    ----------
    told : Dossier
        The case with its sheets.

    Returns
    -------
    Folio
        Unescaped, in English.
    """
    flag, register = told.case.flag, told.register
    about = "the block" if flag.about == "block" else flag.about
    season = season_words(flag.season, register.block.season_start)
    known = "" if register.known_by is None else (
        f", by what was known at {told.moment(register.known_by)}")
    sections = (_flagged(told), ground_section(told), bags_section(told), phones_section(told),
                _others(told), _rulings(told), Section("What would settle it",
                                                       settled_by(flag.rule)), _made(told))
    return Folio(
        f"{flag_title(flag.rule)}: {about}, season {season}",
        f"{register.block.name}, flag {flag.name}, register of {say_day(register.on)}{known}",
        tuple(one for one in sections if one is not None),
    )


def _flagged(told: Dossier) -> Section:
    said = [sentence(told.row["why"]), f"How sure: {sure_words(told.row)}."]
    if told.case.flag.rule not in _TOLD_WHOLE and told.row["figures"]:
        said.append("Figures: " + "; ".join(figure_words(told.row["figures"])) + ".")
    return Section("What is flagged", tuple(said))


def _others(told: Dossier) -> Section | None:
    """Tell records that are neither bags nor STARTs."""
    others = told.case.others
    if not others:
        return None
    rows = [(one.name, one.kind.replace("_", " "), told.moment(one.at), one.person,
             _place(told, one)) for one in others[:MOST_ROWS]]
    more = len(others) - MOST_ROWS
    return Section(
        "Records", (), Shown(("record", "kind", "when", "by", "where"), tuple(rows),
                             frozenset(range(5))),
        (f"{more} more without a row.",) if more > 0 else ())


def _place(told: Dossier, one: Counted) -> str:
    said = [str(one.record[key]) for key in ("cell", "plot", "batch", "name", "clip")
            if one.record.get(key)]
    if said:
        return " ".join(said[:2])
    if one.where is None:
        return "–"
    return f"{one.where.lat:.5f} {one.where.lon:.5f}"


def _rulings(told: Dossier) -> Section:
    flag, rulings = told.case.flag, told.case.rulings
    if not rulings:
        return Section("Rulings", ("None yet; the owner rules: upheld, not so or agreed.",))
    return Section("Rulings", tuple(_ruling(told, flag, one, one is rulings[-1])
                                    for one in rulings))


def _ruling(told: Dossier, flag: Flag, one: Counted, last: bool) -> str:
    says, meaning = RULING_WORDS[one.record["says"]]
    if last and one.record["seen"] == flag.seen:
        stands = "It stands."
    elif last:
        stands = "The flag has changed since: it is open again."
    else:
        stands = "A later ruling took its place."
    note = f" Note: {sentence(one.record['note'])}" if one.record.get("note") else ""
    figures = figure_words(one.record.get("figures") or {})
    on = f" Ruled on: {'; '.join(figures)}." if figures else ""
    return (f"{told.moment(one.at)}, {one.person}: {says} ({meaning}). {stands}{note}{on} "
            f"[{one.name}]")


def _made(told: Dossier) -> Section:
    return Section("How this was made", tuple(_made_of(told)))


def _made_of(told: Dossier) -> Iterator[str]:
    flag, sums = told.case.flag, told.document["made_of"]
    if flag.records:
        yield (f"{len(flag.records):,} record{'' if len(flag.records) == 1 else 's'} behind the "
               f"flag: {listed(flag.records, most=_NAMED)}.")
    if told.case.trails:
        yield ("The track on the map is that of the pressed phones within the time of these bags "
               "and no longer, as evidence of this flag.")
    yield (f"Made of block {sums['block'][:12]}, settings {sums['settings'][:12]}, records "
           f"{sums['records'][:12]}, program {sums['program']}, and for the sheets of the times "
           "at which records arrived: the same give the same page. People stand by their codes; "
           "names stay at the shed.")
