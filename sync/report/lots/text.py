"""A season of lots on a terminal: its balance, the lots, the ground, and how much is clean.

Rule 1: no line is wider than 100 characters, but for names that people gave.
Rule 2: every figure says its unit, and the head says its day.
"""

from collections.abc import Iterator

from fieldapp.record import stamp
from sync.picks.ledger.balance import balance_of_seasons
from sync.picks.ledger.kept import Followed
from sync.plan.lots.season import LotsOfSeason
from sync.plan.lots.supply import Supply
from sync.report.lots.rows import count, ground_rows, lot_rows, pct
from sync.report.plots_table import folded, plain_table
from sync.report.rounding import KG, rounded

_HOW = (
    "Ranges are of 90 %, of ground by the lots of all seasons: a class is the mean of its cells, "
    "a chance is that of one more lot, of a new cell of the class or of that cell. How much cells "
    "of a class differ is averaged over, as few cells tell it badly. Kg a bag of a lot: by the "
    "spread of single bags."
)


def lots_text(told: LotsOfSeason) -> str:
    """Write a season of lots.

    Parameters
    ----------
    told : LotsOfSeason
        Whole.

    Returns
    -------
    str
        Lines.
    """
    return "\n".join(_lines(told)) + "\n"


def _lines(told: LotsOfSeason) -> Iterator[str]:
    for line in balance_lines(told):
        yield from folded(line)
    if told.lots:
        yield ""
        yield from plain_table(lot_rows(told))
    if told.classes:
        yield ""
        yield from plain_table(ground_rows(told.classes, told.pure_pct, cells=False))
        yield ""
        yield from plain_table(ground_rows(told.cells, told.pure_pct, cells=True))
    yield ""
    for line in (*supply_lines(told), *((_HOW,) if told.lots else ())):
        yield from folded(line)


def balance_lines(told: LotsOfSeason) -> Iterator[str]:
    """Say what became of the season's bags.

    Parameters
    ----------
    told : LotsOfSeason
        Whole.

    Yields
    ------
    str
        The head, the stages, and where the rest is.
    """
    one, register = told.balance, told.register
    known = ("" if register.known_by is None
             else f", by what came in until {stamp(register.known_by)}")
    yield f"{register.block.name}, lots of the season of {told.season}, on {register.on}{known}"
    if not one.tallied and not one.surplus:
        yield "no bag was tallied in that season"
        return
    yield (f"{count(one.tallied)} bags tallied, {count(one.lifted)} lifted, {count(one.arrived)} "
           f"arrived, {count(one.dried)} dried in {_many(len(told.lots), 'lot')}{_weight(told)}")
    piles = ", ".join(f"{label}: {count(bags)}" for (label, _), bags in told.piles.items())
    parts = [f"left on piles {count(one.on_piles)}" + (f" ({piles})" if piles else ""),
             f"on the way {count(one.on_the_way)}{_batches(told.on_the_way)}",
             f"at the shed {count(one.at_the_shed)}{_batches(told.at_the_shed)}",
             f"short {count(one.short)}{_batches(told.short)}"]
    if one.no_pile:
        parts.append(f"on no pile {count(one.no_pile)}")
    yield "bags " + "; ".join(parts)
    if one.surplus:
        more = ", ".join(f"{over.batch[0]}: {count(over.bags)} when {over.stage} on {over.day}"
                         for over in told.surplus)
        yield f"{count(one.surplus)} more bags were counted than there were ({more})"


def later_lines(told: LotsOfSeason) -> Iterator[str]:
    """Point to later seasons in which bags were tallied, for who named no season."""
    for season, other in sorted(balance_of_seasons(told.ledger).items()):
        if season > told.season and other.tallied:
            yield f"tallied in the season of {season}: {count(other.tallied)}; --season {season}"


def _weight(told: LotsOfSeason) -> str:
    weighed = [lot for lot in told.lots if lot.kg_a_bag is not None]
    if not weighed:
        return ", none weighed"
    kg, bags = sum(lot.dry_kg or 0.0 for lot in weighed), sum(lot.bags for lot in weighed)
    return f", {rounded(kg, KG):,} kg shed-dry, {kg / bags:.1f} kg a bag"


def _batches(held: tuple[tuple[Followed, float], ...]) -> str:
    if not held:
        return ""
    named = (f"{one.batch.label}: {count(bags)} since {_since(one)}" for one, bags in held)
    return f" ({', '.join(named)})"


def _since(one: Followed) -> str:
    return next(reversed(tuple(one.batch.stages.values()))).day.isoformat()


def supply_lines(told: LotsOfSeason) -> Iterator[str]:
    """Say how much of a purity lies dried, and what the ready cells may give of it."""
    purity, dried = f"{told.pure_pct:g} % purity", told.dried
    if dried.told_kg:
        untold = dried.kg - dried.told_kg
        yield (f"Of {purity} or more: {rounded(dried.pure_kg, KG):,} of {_kg(dried.told_kg)} "
               f"dried in the season, lot by lot; {_kg(dried.mixed_kg)} could be mixed to it; all "
               f"of it is {pct(dried.mean_pct)} % pure"
               + (f"; {_kg(untold)} have no purity noted" if untold >= 0.5 else ""))
    elif told.lots:
        yield f"Of the season's kg none has a purity noted: nothing can be said of {purity}."
    if told.ready.kg:
        yield _supply(told.ready, f"The cells ready on {told.register.on} may give", purity)
    if told.allowed is not None and told.allowed.kg:
        yield _supply(told.allowed, "Within what may be taken now, the likeliest cells first,",
                      purity)


def _supply(one: Supply, head: str, purity: str) -> str:
    rest = (f"; {_kg(one.untold_kg)} are of classes that no lot tells of"
            if one.untold_kg >= 0.5 else "")
    return (f"{head} {rounded(one.pure_kg, KG):,} (90 % {rounded(one.low_kg, KG):,} to "
            f"{rounded(one.high_kg, KG):,}) of {_kg(one.kg)} shed-dry at {purity} or more, from "
            f"{_many(one.cells, 'cell')}{rest}")


def _kg(kg: float) -> str:
    return f"{rounded(kg, KG):,} kg"


def _many(number: int, thing: str) -> str:
    return f"{number} {thing}{'' if number == 1 else 's'}"
