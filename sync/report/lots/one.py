"""One lot led back: its way, and whose bags of which piles, cells and days it was made of."""

from collections.abc import Iterator, Mapping, Sequence

from sync.picks.ledger.trace import LotTold
from sync.plan.lots.season import LotsOfSeason, kg_a_bag_of
from sync.report.lots.rows import count, estimate_words, pct
from sync.report.plots_table import Rows, folded, plain_table
from sync.report.rounding import BAG_KG, rounded

#: A smaller share is not named.
_LEAST_SHARE = 0.0005
_STAGES = ("tallied", "lifted", "arrived", "dried")


def lot_text(told: LotsOfSeason, lot: LotTold) -> str:
    """Write the whole trace of one lot.

    Parameters
    ----------
    told : LotsOfSeason
        Its season.
    lot : LotTold
        The lot.

    Returns
    -------
    str
        Lines of 100 characters at most, but for names that people gave.
    """
    return "\n".join(_lines(told, lot)) + "\n"


def _lines(told: LotsOfSeason, lot: LotTold) -> Iterator[str]:
    register = told.register
    head = (f"{register.block.name}, lot {lot.label} of the season of {lot.season}, on "
            f"{register.on}")
    weight = "not weighed" if lot.dry_kg is None else (
        f"{rounded(lot.dry_kg, BAG_KG):,} kg shed-dry, "
        f"{estimate_words(kg_a_bag_of(lot, register), BAG_KG)} kg a bag")
    yield from folded(head)
    yield from folded(f"{count(lot.bags)} bags, {weight}; moisture {pct(lot.moist_pct)} %, purity "
                      f"{pct(lot.pure_pct)} %")
    yield from folded("; ".join(_way(lot)))
    if lot.part_left < 1.0:
        yield f"{100.0 * (1.0 - lot.part_left):.0f} % of it went into other lots"
    for name, shares in (
        ("pile", {label: share for (label, _), share in lot.shares.piles.items()}),
        ("cell", lot.shares.cells),
        ("day", {day.isoformat(): share for day, share in sorted(lot.shares.days.items())}),
        ("bags of", lot.shares.persons),
    ):
        yield ""
        yield from plain_table(_shares(name, shares, lot))
    yield ""
    others = sorted({one.season for one in told.all_lots if one.label == lot.label}
                    - {lot.season})
    if others:
        yield from folded(f"A lot of that label is of the season of {_and(others)} too: --season")
    yield from folded("Bags of one place cannot be told apart: each press that lay there has its "
                      f"share; {len(lot.shares.presses)} records of bags are behind it. Records "
                      f"of the lot: {', '.join(lot.records)}")


def _and(seasons: Sequence[int]) -> str:
    return " and ".join(map(str, seasons))


def _way(lot: LotTold) -> Iterator[str]:
    for stage in _STAGES:
        if stage not in lot.days:
            yield f"{stage}: not noted"
        else:
            first, last = lot.days[stage]
            yield f"{stage} {first}" + ("" if first == last else f" to {last}")


def _shares(name: str, shares: Mapping[str, float], lot: LotTold) -> Rows:
    rows = {each: share for each, share in shares.items() if share >= _LEAST_SHARE}
    less = sum(shares.values()) - sum(rows.values())
    if less >= _LEAST_SHARE:
        rows["others"] = less
    if name == "cell" and lot.shares.in_no_cell > 0.0:
        rows["in no cell"] = lot.shares.in_no_cell
    if name == "pile":
        on_none = 1.0 - sum(shares.values()) - lot.shares.unknown
        rows |= {"on no pile": on_none} if on_none > 1e-6 else {}
    if lot.shares.unknown > 0.0:
        rows["not known"] = lot.shares.unknown
    return Rows((name, "bags", "share %"), 1, tuple(
        (each, count(share * lot.bags), f"{100.0 * share:.1f}") for each, share in rows.items()))
