"""Which seasons' tracks are evidence of a flag that nobody has ruled on."""

from collections import defaultdict
from collections.abc import Iterable

from sync.block import season_of
from sync.flags.flag import Flag
from sync.register.build import Register

#: Rules that go by where bags came from.
ON_TRACKS = frozenset({
    "early_pick", "over_pick", "closed_ground", "sprayed_hold", "outside_block", "weak_position",
    "more_picked_than_stood",
})


def seasons_kept(register: Register, flags: Iterable[Flag]) -> dict[int, tuple[str, ...]]:
    """Give the seasons whose tracks open flags rest on.

    Parameters
    ----------
    register : Register
        Of the day asked about.
    flags : iterable of Flag
        Raised on it.

    Returns
    -------
    dict of int to tuple of str
        Names of the flags by season; an early pick rests on the pick before it as well.
    """
    kept: dict[int, list[str]] = defaultdict(list)
    for flag in flags:
        if flag.rule not in ON_TRACKS or (flag.ruling is not None and flag.ruling.stands):
            continue
        seasons = {flag.season}
        if flag.rule == "early_pick" and flag.cell is not None:
            seasons |= {
                season_of(day, register.block.season_start)
                for pick in register.crop.cells[flag.cell].picks
                if pick.rest_ends == flag.figures["rest_ends"]
                for day in (pick.made.first, pick.made.last)}
        for season in seasons:
            kept[season].append(flag.name)
    return {season: tuple(sorted(names)) for season, names in kept.items()}
