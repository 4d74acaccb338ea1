"""The sum of all names and sums of a block's records, where most are known by their heads.

Rule 1: it is the SHA-256 of the canonical JSON of the sorted pairs, however it is worked out.
"""

import hashlib
from collections import defaultdict
from collections.abc import Iterable, Iterator

import numpy as np
import numpy.typing as npt

from sync.intake.check import Held
from sync.intake.heads import Tracks

#: Digits of the longest number of a record.
_DIGITS = 16
#: So many pairs are written at a time.
_PART = 65536
#: What each two bytes are written as: four digits.
_HEX = np.frombuffer(b"".join(b"%04x" % two for two in range(65536)), "V4")

Bytes = npt.NDArray[np.uint8]
Ints = npt.NDArray[np.int64]


def records_sum(others: Iterable[Held], tracks: Tracks) -> str:
    """Sum up the names and sums of all records.

    Parameters
    ----------
    others : iterable of Held
        Those that are read, all different.
    tracks : Tracks
        Those that are not; none of them is among the others.

    Returns
    -------
    str
        SHA-256 of the canonical JSON of their sorted pairs, hex.
    """
    read: dict[str, list[tuple[int, bytes]]] = defaultdict(list)
    for one in others:
        read[one.said.device].append((one.said.seq, bytes.fromhex(one.total)))
    total, between = hashlib.sha256(b"["), b""
    # A name is sorted as text: the sign after a device's letters is that before the number.
    for device in sorted({*read, *tracks.by_device}, key=lambda one: f"{one}:"):
        heads = tracks.of(device)
        own = read.get(device, [])
        numbers = np.append(heads["seq"], np.array([n for n, _ in own], np.int64))
        sums = np.append(heads["total"], np.array([s for _, s in own], "V32"))
        for pairs in _written(device, numbers, sums.view(np.uint8).reshape(-1, 32)):
            total.update(between + pairs)
            between = b","
    total.update(b"]")
    return total.hexdigest()


def _written(device: str, numbers: Ints, sums: Bytes) -> Iterator[bytes]:
    """Write the pairs of a device in the order of their text, as JSON, some at a time."""
    powers = 10 ** np.arange(_DIGITS, dtype=np.int64)
    digits = np.searchsorted(powers, numbers, side="right")
    # As text 1 is before 10 and 10 before 2: as if noughts were written behind all of them.
    places = numbers * powers[_DIGITS - digits] * (_DIGITS + 1) + digits
    order = np.argsort(places, kind="stable")
    if (np.diff(places[order]) == 0).any():
        order = np.lexsort((*sums.view(">u8").T[::-1], places))
    head, middle = (np.frombuffer(one.encode(), np.uint8) for one in (f'["{device}:', '","'))
    most = int(digits.max())
    for first in range(0, len(order), _PART):
        here = order[first:first + _PART]
        wide = (numbers[here] * powers[most - digits[here]])[:, None]
        columns = (head, wide // powers[most - 1::-1] % 10 + ord("0"), middle,
                   _HEX[sums[here].view(">u2")].view(np.uint8),
                   np.frombuffer(b'"],', np.uint8))
        text = np.concatenate(
            [np.broadcast_to(one.astype(np.uint8), (len(here), one.shape[-1]))
             for one in columns], axis=1)
        keeps = np.ones(text.shape, np.bool_)
        keeps[:, len(head):len(head) + most] = np.arange(most) < digits[here, None]
        yield text[keeps][:-1].tobytes()
