"""A clash of rules in plain words."""

from collections.abc import Mapping, Sequence

from sync.plan.gives_way import Clash, GivesWay
from sync.plan.outlook import Outlook
from sync.plan.schedule import APART
from sync.plan.spans import Span
from sync.plan.wishes import Wishes


def clash_sentences(
    clash: Clash, known: Mapping[str, Outlook], spans: Sequence[Span], wishes: Wishes
) -> tuple[str, ...]:
    """Say which rules clash.

    Parameters
    ----------
    clash : Clash
        What would have to give way.
    known : mapping of str to Outlook
        By cell.
    spans : sequence of Span
        The seasons.
    wishes : Wishes
        What was asked.

    Returns
    -------
    tuple of str
        First the wishes that no rule could save, then each rule whose giving way would do.
    """
    said = [one for cell, season in wishes.fixed
            if (one := _cannot(cell, season, known, spans))]
    if said:
        return tuple(said)
    said += [f"A plan could be made {_ways(ways, spans)}" for ways in clash.alone]
    if clash.together:
        by_rule: dict[str, list[GivesWay]] = {}
        for way in clash.together:
            by_rule.setdefault(way.name, []).append(way)
        said.append("No rule clashes alone; a plan could be made "
                    + " and ".join(_ways(ways, spans) for ways in by_rule.values()))
    return tuple(said) or ("The solver had no time to tell which rule clashes: give it more.",)


def _cannot(
    cell: str, season: int, known: Mapping[str, Outlook], spans: Sequence[Span]
) -> str | None:
    """Say why a cell cannot be picked in a season whatever else is planned."""
    period = season - spans[0].season
    one = known.get(cell)
    if one is None:
        return (f"{cell} cannot be picked in {season}: nobody has laid a quadrat there; measure "
                "it, or count unsurveyed cells")
    if period in one.firsts or any(then == period for _, then in one.laters):
        return None
    why = f"; {one.why}" if one.why else ""
    if not one.firsts:
        return f"{cell} cannot be picked in any of these seasons{why}"
    can = ", ".join(str(spans[t].season) for t in one.firsts)
    return f"{cell} cannot be picked in {season}{why}; it can in {can}"


def _ways(ways: Sequence[GivesWay], spans: Sequence[Span]) -> str:
    """Say how one rule would have to give way; its name tells which it is."""
    name = ways[0].name
    kg = ", ".join(f"{one.by:,.0f} kg in {_season(one, spans)}" for one in ways)
    if name.startswith("cap "):
        return f"if the cap of permit {name.removeprefix('cap ')} were higher (by {kg})"
    if name == "at_least":
        return f"if less were asked of a season (less by {kg})"
    if name == "even":
        return f"if seasons might be farther from their mean (by {kg})"
    if name == APART:
        pairs = ", ".join(f"{one.about} in {_season(one, spans)}" for one in ways)
        return f"if neighbours might be picked in one season ({pairs})"
    return f"without {name}"


def _season(one: GivesWay, spans: Sequence[Span]) -> str:
    return "all" if one.period is None else str(spans[one.period].season)
