"""How a picker works: where the hands were each second, bag by bag.

Rule 1: the truth of a bag is where the hands were while it was filled, not where it was tallied.
Rule 2: lanes run in any direction and turn back where the picker takes the border to be; a picker
who asks for none crosses borders as they come.
"""

import dataclasses
import math
from collections.abc import Callable

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
#: Turns places back where a picker sees a border, from the second on at which a bag is begun. [m]
Fence = Callable[[Floats, int], Floats]


@dataclasses.dataclass(frozen=True)
class Work:
    """One manner of working; all of it common practice, no source, where nothing else is said.

    Attributes
    ----------
    lane_m, wide_m : float
        A lane's length, and from one lane to the next. [m]
    bag_m, bag_s : float
        Of a lane that fills a bag [m], and how long that takes, give or take 30 %. [s]
    bags : int
        A day.
    """

    name: str
    lane_m: float
    wide_m: float
    bag_m: float
    bag_s: float
    bags: int


WORKS = (
    # Three passes of 60 m, 2 m apart, gave nine bags (tests/sync/geometry/test_swath.py), and a
    # bag took 34 min of picking and 6 of walking (tests/published/picking.toml): 20 m a bag.
    Work("passes of 60 m", 60.0, 2.0, 20.0, 2040.0, 10),
    # The same 45 m² a bag in lanes 3 m wide, twice as fast, two lanes of 100 m a day.
    Work("lanes of 100 m", 100.0, 3.0, 15.0, 1000.0, 13),
    # Only the good patches are picked: 60 m of lane a bag.
    Work("good patches only", 100.0, 3.0, 60.0, 1000.0, 20),
)
PILE_OFF_M = 30.0
WALK_M_S = 1.0


@dataclasses.dataclass(frozen=True)
class Worked:
    """A day as it was, second by second.

    Attributes
    ----------
    body : array, shape (n, 2)
        Where the picker was at each second of the day, walks to the pile included. [m]
    filled : tuple of int
        The second at which each bag was full.
    hands : tuple of array, shape (m, 2)
        For each bag where the hands were at each second of its picking. [m]
    piles : tuple of array, shape (2,)
        Where each bag was put down. [m]
    """

    body: Floats
    filled: tuple[int, ...]
    hands: tuple[Floats, ...]
    piles: tuple[Floats, ...]


def no_fence(places: Floats, _: int) -> Floats:
    """Leave places as they are."""
    return places


def worked(
    rng: np.random.Generator, work: Work, start: Floats, bags: int | None = None, *,
    fence: Fence = no_fence,
) -> Worked:
    """Let a picker work from some place on, lane beside lane, and carry each bag off."""
    along = _heading(rng)
    across = rng.choice([-1.0, 1.0]) * np.array([-along[1], along[0]])
    body, hands, piles, filled = [], [], [], []
    done_m, lasts = rng.uniform(0.0, work.lane_m), 0
    began_m = done_m
    for _ in range(work.bags if bags is None else bags):
        seconds = round(work.bag_s * rng.uniform(0.7, 1.3))
        way = done_m + work.bag_m * np.arange(1, seconds + 1) / seconds
        done_m = way[-1]
        lane = np.floor(way / work.lane_m)
        far = np.where(lane % 2.0 == 0.0, way - lane * work.lane_m,
                       (lane + 1.0) * work.lane_m - way)
        places = start + np.outer(far - began_m, along) + np.outer(lane * work.wide_m, across)
        aside = rng.uniform(-0.5, 0.5, seconds) * work.wide_m
        hands.append(fence(places + np.outer(aside, across), lasts))
        places = fence(places, lasts)
        pile = places[-1] + PILE_OFF_M * _heading(rng)
        piles.append(pile)
        filled.append(lasts + seconds)
        carried = _walk(places[-1], pile)
        body += [places, carried, carried[::-1]]
        lasts += seconds + 2 * len(carried)
    return Worked(np.concatenate(body), tuple(filled), tuple(hands), tuple(piles))


def turned_back(places: Floats, corner: Floats, side_m: float) -> Floats:
    """Turn places back into a square at its sides, as a ball off a cushion."""
    beyond = (places - corner) % (2.0 * side_m)
    found: Floats = corner + np.minimum(beyond, 2.0 * side_m - beyond)
    return found


def _heading(rng: np.random.Generator) -> Floats:
    turn = rng.uniform(0.0, 2.0 * math.pi)
    return np.array([math.cos(turn), math.sin(turn)])


def _walk(one: Floats, other: Floats) -> Floats:
    """Give each second of a walk."""
    steps = max(1, round(math.dist(one, other) / WALK_M_S))
    return one + (other - one) * (np.arange(1, steps + 1)[:, None] / steps)
