"""What the gang does and the moss after it: bags with fixes, lots, regrowth, strays over a border.

Rule 1: a fix is off by a normal error that lasts for minutes, as a receiver's is.
"""

import dataclasses
import math
from datetime import UTC, date, datetime, timedelta

import numpy as np

from made_block.book import CELLS, COLUMNS, Book, corner, latlon
from made_block.growth import saturating_share
from made_block.world import BAG_CV, FULL, World, lognormal

#: 68 % radius of a fix over its standard deviation.
R68 = 1.5095921855
#: How long a fix's error lasts. [min]
_ERROR_MIN = 10.0
#: Bags between two presses of a picker in his own cell.
_BAGS_A_PRESS = 2
#: A pick is one lot but for the very largest: lots cut from one weighing would all be alike.
_BAGS_A_LOT = 1900


def grown_kg(world: World, mark_kg: float, left_kg: float, years: float) -> float:
    """Give the true crop some years after a pick, held at the mark. [kg]."""
    if years <= 0.0:
        return left_kg
    full = mark_kg / FULL
    share, rate = left_kg / full, world.rate
    if world.case.growth == "saturating":
        now = share + (1.0 - share) * saturating_share(rate * years)
    else:
        now = share / (share + (1.0 - share) * math.exp(-rate * years))
    return min(mark_kg, full * now)


@dataclasses.dataclass(frozen=True)
class Picked:
    """A pick as it was: the mean day and true kg of its bags."""

    cell: str
    day: date
    kg: float


@dataclasses.dataclass
class Gang:
    """Pickers with one phone."""

    world: World
    book: Book
    rng: np.random.Generator

    def pick(self, cell: str, first: date, kg: float, kg_a_bag: float) -> Picked:
        """Pick a cell, confirmed at each start, until the bags make up what may be taken."""
        bags = max(0, int(kg / kg_a_bag))
        said = {"role": "picker", "cell": cell}
        x, y = corner(cell)
        at = datetime.combine(first, datetime.min.time(), UTC) + timedelta(hours=8)
        label = f"P-{cell}"
        true, off = 0.0, self._error(4.0)
        days = 0
        for press in range(bags // _BAGS_A_PRESS):
            if press % 20 == 0:
                days = press // 20
                at = datetime.combine(first + timedelta(days=days), datetime.min.time(), UTC)
                at += timedelta(hours=8)
                self.book.note("outing", at, "MT", state="start", **said)
            at += timedelta(minutes=20)
            off = self._error(4.0, off, 20.0)
            here = np.array([x, y]) + self.rng.uniform(0.0, 100.0, 2)
            self._press(at, here + off, 4.0, _BAGS_A_PRESS, label)
            true += self._weigh(_BAGS_A_PRESS)
        self.book.note("outing", at, "MT", state="end", finished=[cell])
        return Picked(cell, first + timedelta(days=days // 2), true)

    def dry(self, done: Picked, day: date) -> None:
        """Weigh a pick's bags, in lots that a drying floor holds."""
        bags = sum(r["bags"] for r in self.book.kept
                   if r["kind"] == "bag" and r.get("pile") == f"P-{done.cell}")
        lots = math.ceil(bags / _BAGS_A_LOT)
        for lot in range(lots):
            mine = bags * (lot + 1) // lots - bags * lot // lots
            self.book.note("batch", day, "O", batch=f"D-{done.cell}-{lot}", stage="dried",
                           bags=mine, dry_kg=round(done.kg * mine / bags, 1),
                           **{"from": [f"P-{done.cell}"]})

    def stray(self, cell: str, day: date) -> tuple[int, float]:
        """Tally bags on both sides of a cell's east border; give those truly within it, and kg."""
        x, y = corner(cell)
        acc = float(self.rng.choice([5.0, 12.0]))
        depth = float(self.rng.uniform(0.0, 25.0))
        at = datetime.combine(day, datetime.min.time(), UTC) + timedelta(hours=9)
        inside, kg, off = 0, 0.0, self._error(acc)
        self.book.note("outing", at, "MT", state="start", role="picker")
        for _ in range(int(self.rng.integers(2, 7))):
            minutes = float(self.rng.uniform(8, 25))
            at += timedelta(minutes=minutes)
            off = self._error(acc, off, minutes)
            east = x + 100.0 + float(self.rng.uniform(-depth, 25.0))
            self._press(at, np.array([east, y + self.rng.uniform(20, 80)]) + off, acc, 1, "P-X")
            if east < x + 100.0:
                inside += 1
                kg += self._weigh(1)
        return inside, kg

    def _press(
        self, at: datetime, place: np.ndarray, acc_m: float, bags: int, pile: str
    ) -> None:
        lat, lon = latlon(float(place[0]), float(place[1]))
        where = {"lat": lat, "lon": lon, "acc_m": acc_m, "age_s": 1, "lag_s": 0.0}
        self.book.note("bag", at, "MT", bags=bags, pile=pile, where=where)

    def _error(
        self, acc_m: float, before: np.ndarray | None = None, minutes: float = 0.0
    ) -> np.ndarray:
        new = self.rng.normal(0.0, acc_m / R68, 2)
        if before is None:
            return new
        kept = math.exp(-minutes / _ERROR_MIN)
        return kept * before + math.sqrt(1.0 - kept**2) * new

    def _weigh(self, bags: int) -> float:
        return float(lognormal(self.rng, self.world.bag_kg, BAG_CV, bags).sum())


def east_of(cell: str) -> str | None:
    """Give the neighbour in the east, or None at the block's edge."""
    column = COLUMNS.index(cell[0]) + 1
    other = f"{COLUMNS[column]}{cell[1:]}" if column < len(COLUMNS) else None
    return other if other in CELLS else None
