"""A trial in words and figures, as a person reads it: what was drawn, done, seen, and how sure.

Rule 1: figures are those of `sync.plan.trial`, rounded to 0.1 L/m².
Rule 2: what a few pairs say is called likely or not yet told, never proved.
"""

from sync.plan.trial import Half, PairSeen, TrialSeen
from sync.report.speech import PLAIN, Speech
from sync.report.table import Shown
from sync.survey.paired import PairedChange

_NONE = "–"
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
COLUMNS = ("pair", "class", "treated on", "read", "before", "after", "change", "difference")
_LEFT = frozenset({0, 1, 2, 3})


def pairs_words(number: int) -> str:
    """Say a number of pairs, up to ten in letters."""
    said = _NUMBERS[number] if number < len(_NUMBERS) else str(number)
    return f"{said} pair{'' if number == 1 else 's'}"


def trial_head(seen: TrialSeen) -> list[str]:
    """Say what was drawn, by which seed."""
    lines = [(f"Trial {seen.trial}: {seen.treatment.replace('_', ' ')}, one of each pair; which "
              "one was drawn by a coin")]
    lines += [f"{len(draw.pairs)} pair{'' if len(draw.pairs) == 1 else 's'} drawn on "
              f"{draw.drawn_on.isoformat()}, seed {draw.seed}" for draw in seen.draws]
    return lines


def trial_table(seen: TrialSeen, speech: Speech = PLAIN) -> Shown:
    """Give the pairs as a table of two rows each; the treated cell has a T. [L/m²]."""
    rows: list[tuple[str, ...]] = []
    for one in seen.pairs:
        rows += [_row(one, speech, treated=True), _row(one, speech, treated=False)]
    return Shown(COLUMNS, tuple(rows), _LEFT)


def _row(one: PairSeen, speech: Speech, *, treated: bool) -> tuple[str, ...]:
    half = one.treated if treated else one.other
    cell = one.pair.treated if treated else one.pair.other
    day = one.treated_on if treated else one.other_on
    difference = one.difference
    shown = _NONE if difference is None else speech.signed(difference, 1)
    return (f"{cell} {'T' if treated else ''}".strip(), one.pair.ground_class,
            _NONE if day is None else speech.day(day), *_half(half, speech),
            shown if treated else "")


def _half(half: Half | None, speech: Speech) -> tuple[str, str, str, str]:
    if half is None:
        return _NONE, _NONE, _NONE, _NONE
    how = ("{low} to {high}, {n} plots" if half.plots > 1 else
           "{low} to {high}, 1 plot" if half.plots else "{low} to {high}, means")
    read = speech.say(how, low=speech.day(half.before_on), high=speech.day(half.after_on),
                      n=half.plots)
    return (read, speech.number(half.before, 1), speech.number(half.after, 1),
            speech.signed(half.change, 1))


def trial_verdict(seen: TrialSeen) -> list[str]:
    """Say what the pairs show, how sure, what was not done as drawn, and what would tell more."""
    lines = [f"{one.pair.treated} and {one.pair.other}: {one.waits}; the pair does not count yet"
             for one in seen.pairs if one.waits]
    lines += [_not_as_drawn(one) for one in seen.pairs if not one.waits and not one.as_drawn]
    found, counted = seen.found, sum(one.difference is not None for one in seen.pairs)
    if found is None:
        lines.append(f"Cannot tell yet: {pairs_words(counted)}; two are the least.")
        return lines
    lines.append(f"Difference of changes: {found.mean:+.1f} L/m² (90 % range {found.low:.1f} to "
                 f"{found.high:.1f}): {_how_sure(found, seen)}; {pairs_words(counted)}.")
    if seen.as_drawn is not None and seen.as_drawn != found:
        done = seen.as_drawn
        lines.append(f"Of the {pairs_words(done.df + 1)} done as drawn alone: {done.mean:+.1f} "
                     f"L/m² (90 % range {done.low:.1f} to {done.high:.1f}).")
    lines.append(_needed(seen))
    return lines


def _not_as_drawn(one: PairSeen) -> str:
    what = []
    if one.treated_on is None:
        what.append(f"{one.pair.treated} was never treated")
    if one.other_on is not None:
        what.append(f"{one.pair.other} was treated too, on {one.other_on.isoformat()}")
    return f"{' and '.join(what)}; the pair counts as it was drawn"


def _how_sure(found: PairedChange, seen: TrialSeen) -> str:
    if found.low > 0.0 or found.high < 0.0:
        return "likely real"
    if max(abs(found.low), abs(found.high)) < seen.matters_l_m2:
        return "likely too little to matter"
    return "cannot tell yet"


def _needed(seen: TrialSeen) -> str:
    asked = f"a difference of {seen.matters_l_m2:g} L/m²"
    if seen.needed is None:
        return f"How many pairs {asked} would need cannot be told from these."
    return (f"To find {asked} {seen.power * 10:g} times in 10, about {pairs_words(seen.needed)} "
            "would be needed, if others scatter as these do.")
