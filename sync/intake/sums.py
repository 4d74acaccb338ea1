"""The sum of all names and sums of a block's records, device by device.

Rule 1: of a device it is the SHA-256 of its records, ascending: of each the number in 8 bytes, the
highest first, and the 32 bytes of its sum.
Rule 2: of a block it is the SHA-256 of the canonical JSON of the sorted pairs of a device and the
sum of that (hex).
"""

import dataclasses
import hashlib
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from fieldapp.record import canonical
from sync.intake.check import Held
from sync.intake.heads import NO_TRACKS, Heads, Tracks

_PAIR = np.dtype([("seq", ">u8"), ("total", "V32")])


@dataclasses.dataclass(frozen=True, eq=False)
class Sums:
    """The sums of devices, and the records that they are of.

    Attributes
    ----------
    held : sequence of Held
        Those that are read.
    tracks : Tracks
        Those that are not.
    by_device : mapping of str to str
        As `device_sum`.
    """

    held: Sequence[Held]
    tracks: Tracks
    by_device: Mapping[str, str]

    def of(self, held: Sequence[Held], tracks: Tracks) -> Mapping[str, str]:
        """Give the sums of some records; none unless they are these very records."""
        return self.by_device if held is self.held and tracks is self.tracks else {}


def records_sum(others: Iterable[Held], tracks: Tracks = NO_TRACKS) -> str:
    """Sum up the names and sums of all records.

    Parameters
    ----------
    others : iterable of Held
        Those that are read, repeats allowed.
    tracks : Tracks, optional
        Those that are not; none of them is among the others.

    Returns
    -------
    str
        SHA-256, hex.
    """
    read: dict[str, list[Held]] = defaultdict(list)
    for one in others:
        read[one.device].append(one)
    return sum_of_devices({device: device_sum(read.get(device, ()), tracks.of(device))
                           for device in (read.keys() | tracks.by_device.keys())})


def device_sum(others: Iterable[Held], heads: Heads) -> str:
    """Sum up the numbers and sums of a device's records.

    Parameters
    ----------
    others : iterable of Held
        Those that are read, repeats allowed.
    heads : Heads
        Of those that are not.

    Returns
    -------
    str
        SHA-256, hex.
    """
    own = tuple(others)
    pairs = np.empty(len(own) + len(heads), _PAIR)
    pairs["seq"][:len(own)] = [int(one.name.rpartition(":")[2]) for one in own]
    pairs["total"][:len(own)] = np.frombuffer(
        bytes.fromhex("".join(one.total for one in own)), "V32")
    pairs["seq"][len(own):], pairs["total"][len(own):] = heads["seq"], heads["total"]
    pairs = pairs[np.argsort(pairs["seq"].astype(np.int64), kind="stable")]
    if (pairs["seq"][1:] == pairs["seq"][:-1]).any():
        words = pairs.view(">u8").reshape(len(pairs), -1)
        words = words[np.lexsort(words.T[::-1])]
        pairs = words[np.append(True, (words[1:] != words[:-1]).any(axis=1))]
    return hashlib.sha256(pairs.tobytes()).hexdigest()


def sum_of_devices(sums: Mapping[str, str]) -> str:
    """Sum up the sums of devices.

    Parameters
    ----------
    sums : mapping of str to str
        As `device_sum`, by device.

    Returns
    -------
    str
        SHA-256, hex.
    """
    return hashlib.sha256(canonical(sorted(sums.items()))).hexdigest()
