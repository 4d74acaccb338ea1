"""Who noted what: how many records of each kind count, by person code.

Rule 1: counts only: no names, no times, no places, no order but that of the codes.
"""

import dataclasses
from collections import Counter

from fieldapp.record import KINDS
from sync.intake.unread import tracks_of_people
from sync.register.build import Register


@dataclasses.dataclass(frozen=True)
class Noted:
    """Counts of records: `rows` of a person code and, by `kinds`, how many."""

    kinds: tuple[str, ...]
    rows: tuple[tuple[str, tuple[int, ...]], ...]


def noted_by(register: Register) -> Noted:
    """Count the records that count, up to the register's day.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Returns
    -------
    Noted
        Kinds in the order of the record's definition, those without a record left out.
    """
    found = Counter((one.person, one.kind) for one in register.merged.counted
                    if one.day <= register.on)
    for person, tracks in tracks_of_people(
            register.merged.tracks, register.block.zone, None, register.on).items():
        found[person, "track"] += tracks
    seen = {kind for _, kind in found}
    kinds = (*(kind for kind in KINDS if kind in seen), *sorted(seen - set(KINDS)))
    people = sorted({person for person, _ in found})
    return Noted(kinds, tuple(
        (person, tuple(found[person, kind] for kind in kinds)) for person in people))
