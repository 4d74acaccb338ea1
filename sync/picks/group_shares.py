"""The bags of each position group, and the part of them that belongs to one cell."""

from collections.abc import Iterable, Sequence

from sync.geometry.placed import NOT_THERE, Placed
from sync.picks.groups import GroupShare, track_share_variance

#: A phone and one of its position groups.
Group = tuple[str, int]


def group_shares(members: Iterable[Placed], cell: str | None) -> list[GroupShare]:
    """Gather presses into their position groups.

    Parameters
    ----------
    members : iterable of Placed
        Presses with their groups.
    cell : str or None
        The cell; None counts all bags wherever they are of.

    Returns
    -------
    list of GroupShare
        Bags of each group and its bag-weighted mean share of the cell; where a track told of all
        of them, with the variance of the track moved as a whole. [-]
    """
    return list(by_group(members, cell).values())


def by_group(members: Iterable[Placed], cell: str | None) -> dict[Group, GroupShare]:
    """Gather presses as `group_shares` does; by group, in the order of first presses."""
    if cell is None:
        return _whole_groups(members)
    groups: dict[Group, list[Placed]] = {}
    for one in members:
        groups.setdefault((one.bag.device, one.group), []).append(one)
    return {group: _group_share(each, cell) for group, each in groups.items()}


def _whole_groups(members: Iterable[Placed]) -> dict[Group, GroupShare]:
    bags: dict[Group, float] = {}
    for one in members:
        group = one.bag.device, one.group
        bags[group] = bags.get(group, 0.0) + one.bag.bags
    return {group: GroupShare(each, 1.0 if each > 0.0 else 0.0) for group, each in bags.items()}


def _group_share(group: Sequence[Placed], cell: str) -> GroupShare:
    bags = inside = east = west = north = south = 0.0
    tracked = True
    for one in group:
        mine = one.bag.bags
        bags += mine
        inside += mine * one.chances.get(cell, 0.0)
        if one.moved:
            to_east, to_west, to_north, to_south = one.moved.get(cell, NOT_THERE)
            east += mine * to_east
            west += mine * to_west
            north += mine * to_north
            south += mine * to_south
        else:
            tracked = False
    if bags <= 0.0:
        return GroupShare(bags, 0.0)
    share = min(1.0, inside / bags)
    if not tracked:
        return GroupShare(bags, share)  # a chance: all its bags are there, or none
    return GroupShare(bags, share, track_share_variance(
        east=east / bags, west=west / bags, north=north / bags, south=south / bags))
