"""The sum of all records' names and sums, remembered while the journal's packs are the same.

Rule 1: a sum that is remembered wrongly is worked out anew.
"""

import hashlib
from collections.abc import Sequence

from sync.disk.track_heads import Pack
from sync.errors import IntakeError
from sync.geometry.memo import Memo
from sync.intake.heads import Tracks
from sync.intake.sums import records_sum


def sum_of_packs(packs: Sequence[Pack], tracks: Tracks, memo: Memo) -> str:
    """Give the sum of all names and sums.

    Parameters
    ----------
    packs : sequence of Pack
        All of the journal.
    tracks : Tracks
        Their heads, put together.
    memo : Memo
        Remembers it by the sums of the packs.

    Returns
    -------
    str
        As `records_sum`.
    """
    made_of = hashlib.sha256("".join(pack.sum for pack in packs).encode()).hexdigest()

    def read(said: bytes) -> str:
        total, check = said[:64], said[64:]
        if check != _check(made_of, total):
            raise IntakeError("the remembered sum of all records is damaged")
        return total.decode("ascii")

    known = memo.read(f"records:{made_of}", read)
    if known is None:
        known = records_sum((one for pack in packs for one in pack.others), tracks)
        memo.put(f"records:{made_of}", known.encode() + _check(made_of, known.encode()))
    return known


def _check(made_of: str, total: bytes) -> bytes:
    return hashlib.sha256(made_of.encode() + total).digest()
