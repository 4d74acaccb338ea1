"""short_bags: a batch that came to a stage with fewer bags than it left the stage before with.

Rule 1: a shortage is known once the later stage is noted with fewer bags, whatever the day, and
no other batch took them; bags still on the way, at the shed or on a pile are not short.
"""

from collections.abc import Iterator

from sync.block import season_of
from sync.flags.flag import Flag
from sync.picks.ledger.batches import batches_of
from sync.picks.ledger.kept import Followed, Ledger
from sync.picks.ledger.way import way_of
from sync.register.build import Register
from sync.register.followed import follow_bags

_DID = {"lifted": "were lifted", "arrived": "arrived", "dried": "were dried"}


def short_bags(register: Register) -> Iterator[Flag]:
    """Flag batches that are short of bags.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a batch, of the season of its first record.
    """
    # A batch that was noted at one stage alone is short of nothing.
    if all(one.first == one.last for one in batches_of(
            register.events.batches, on=register.on, season_start=register.block.season_start)):
        return
    ledger = follow_bags(register)
    for followed in ledger.batches.values():
        if followed.short:
            yield _flag(register, ledger, followed)


def _flag(register: Register, ledger: Ledger, followed: Followed) -> Flag:
    batch, way = followed.batch, way_of(ledger, followed.batch.key)
    usual = register.block.bags[0].name
    season = season_of(batch.stages[str(batch.first)].day, register.block.season_start)
    kappa = register.crop.weights.kappa.get((season, usual))
    kg = None if kappa is None else way.short * kappa.kg
    told = " and ".join(_told(followed, stage) for stage in _stages(followed))
    weight = "" if kg is None else f" (about {kg:.0f} kg)"
    many = f"{way.short:g} bag{'' if way.short == 1.0 else 's'}{weight}"
    why = (
        f"{many} of batch {batch.label} {'is' if way.short == 1.0 else 'are'} short: {told}; a "
        f"count at both ends, or the record of the wrong count mended, would settle it"
    )
    records = (name for stage in batch.stages.values() for name in stage.records)
    return Flag(
        "short_bags", batch.label, batch.season, None, why, None, "sure", tuple(records),
        {"tallied": way.tallied, "lifted": way.lifted, "arrived": way.arrived,
         "dried": way.dried, "short": way.short, "kg": kg},
    )


def _stages(followed: Followed) -> Iterator[str]:
    """Give the stages between which bags are missing, in order."""
    noted = list(followed.batch.stages)
    around = {i for i, stage in enumerate(noted) if stage in followed.short}
    for i, stage in enumerate(noted):
        if i in around or i + 1 in around:
            yield stage


def _told(followed: Followed, stage: str) -> str:
    return f"{followed.at[stage].bags:g} {_DID[stage]} on {followed.batch.stages[stage].day}"
