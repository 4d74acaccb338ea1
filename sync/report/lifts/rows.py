"""Tables of lifts: piles and cards.

Rule 1: the table of a terminal fits 100 columns, but for names that people gave.
"""

from sync.plan.lifts.values import LiftPlan, PileLifts
from sync.report.degrees import degrees_minutes
from sync.report.lifts.told import pile_name, wet_words
from sync.report.plots_table import Rows

_NONE = "–"


def pile_rows(plan: LiftPlan) -> Rows:
    """Give the piles in order: bags, wet bag, sling, lifts, kg, cost, place."""
    head = ("pile", "bags", "wet bag kg", "weighed", "sling", "lifts", "kg",
            currency_of(plan), "place")
    return Rows(head, 1, tuple(_pile(plan, one) for one in plan.piles))


def _pile(plan: LiftPlan, one: PileLifts) -> tuple[str, ...]:
    wet = one.wet
    return (
        pile_name(plan, one.pile.label, one.pile.season), f"{one.pile.bags:g}",
        _NONE if wet is None else wet_words(wet).removesuffix(" kg"),
        _NONE if wet is None else wet.day.isoformat(),
        _NONE if one.sling is None else str(one.sling),
        _NONE if one.lifts is None else str(one.lifts),
        _NONE if wet is None else f"{one.pile.bags * wet.kg:,.0f}",
        money(one.cost), place_words(one),
    )


def card_rows(plan: LiftPlan) -> Rows:
    """Give a row a lift, to be ticked."""
    places = {(one.pile.label, one.pile.season): place_words(one) for one in plan.piles}
    return Rows(
        ("", "lift", "note as", "pile", "bags", "about kg", "95 % under", "place"), 4,
        tuple(("[ ]", str(one.number), one.batch, one.pile.label, f"{one.bags:g}",
               f"{one.kg:.0f}", f"{one.most_kg:.0f}", places[one.pile.label, one.pile.season])
              for one in plan.lifts))


def place_words(one: PileLifts) -> str:
    """Write a pile's place in degrees and minutes."""
    return "not known" if one.pile.place is None else degrees_minutes(*one.pile.place)


def money(amount: float | None) -> str:
    """Write an amount without cents; a dash where there is no rate."""
    return _NONE if amount is None else f"{amount:,.0f}"


def currency_of(plan: LiftPlan) -> str:
    """Give what costs are in."""
    return plan.register.block.costs.currency or "cost"
