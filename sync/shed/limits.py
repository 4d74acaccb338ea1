"""How much, how long and how often: the bounds that every request is held to.

Rule 1: a bound stands here with its reason, not where it is used.
"""

import dataclasses
from collections.abc import Callable


@dataclasses.dataclass(frozen=True)
class Limits:
    """The server's bounds.

    Attributes
    ----------
    json_bytes : int
        A phone's question; the longest is under 1 kB.
    form_bytes : int
        A form of the owner's; notes have at most 2,000 letters.
    part_bytes : int
        One part of an upload: small, so that a cut costs little.
    file_bytes : int
        A file that the owner takes in by the browser.
    request_s : float
        From the first byte of a request's head to its answer's end, uploads by the browser apart.
    file_s : float
        A whole file over a weak Wi-Fi.
    head_s : float
        For a request's head to arrive, once a connection is open.
    connections : int
        At once; more are told to come back.
    session_s, phone_s : float
        An owner's and a phone's session; the one lasts a working day.
    """

    json_bytes: int = 16_384
    form_bytes: int = 65_536
    part_bytes: int = 1 << 20
    file_bytes: int = 200_000_000
    request_s: float = 120.0
    file_s: float = 600.0
    head_s: float = 15.0
    connections: int = 200
    session_s: float = 12 * 3600.0
    phone_s: float = 1800.0


@dataclasses.dataclass(frozen=True)
class Rate:
    """So many in so many seconds, by everybody together or by each host."""

    most: int
    within_s: float


#: Of one host: a typing slip is not locked out, and who guesses locks out only itself.
SIGN_IN = Rate(10, 300.0)
#: Of all hosts together: guessing a code of 50 bits or a key is hopeless at this rate.
SIGN_IN_OF_ALL = Rate(600, 300.0)
#: A code has three tries; this holds down the work of the slow sum behind each.
PAIR = Rate(30, 300.0)
#: Fifty phones come in one evening, each with a few tries.
SESSION = Rate(600, 60.0)
#: Pages of strangers.
STRANGER = Rate(120, 60.0)


class Allowances:
    """Counts what came lately, by a name and a host.

    Parameters
    ----------
    clock : callable
        Monotonic seconds.
    """

    _MOST_NAMES = 10_000

    def __init__(self, clock: Callable[[], float]) -> None:
        self._clock = clock
        self._seen: dict[tuple[str, str], list[float]] = {}

    def allows(self, name: str, host: str, rate: Rate) -> bool:
        """Count one more and say whether it is still allowed.

        Parameters
        ----------
        name : str
            What is counted.
        host : str
            Whose; empty counts everybody together.
        rate : Rate
            The bound.

        Returns
        -------
        bool
            False from the first beyond the bound until enough of them are old.
        """
        now = self._clock()
        if len(self._seen) > self._MOST_NAMES:
            self._seen.clear()
        lately = [at for at in self._seen.get((name, host), []) if now - at < rate.within_s]
        allowed = len(lately) < rate.most
        if allowed:
            lately.append(now)
        self._seen[name, host] = lately
        return allowed
