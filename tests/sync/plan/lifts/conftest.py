import dataclasses
from collections.abc import Callable, Iterable
from datetime import date, timedelta
from typing import Any

import pytest

from sync.block import Costs
from sync.plan.lifts.values import Pile

COSTS = Costs("NZD", lift_each=95.0, lift_call_out=600.0, machine_trip_each=140.0,
              machine_bags=20.0, machine_call_out=250.0)
TALLIED, WEIGHED = date(2025, 11, 10), date(2025, 11, 20)


@dataclasses.dataclass
class Scale:
    """A season of piles and weighings, noted at the shed."""

    mire: Any
    book: Any

    def pile(self, label: str, bags: float, day: date = TALLIED, **fields: Any) -> None:
        self.book.bags(day, "B02", bags, pile=label, **fields)

    def weigh(self, kg: Iterable[float], source: str = "K-1", day: date = WEIGHED,
              stage: str = "weighed", bags: float = 1) -> None:
        for one in kg:
            number = len(self.book.kept) + 1
            self.book.note("batch", day, batch=f"W-{number}", stage=stage, bags=bags, wet_kg=one,
                           **{"from": [source]})

    def register(self, on: date = WEIGHED, costs: Costs = COSTS, limit_kg: float | None = 650.0,
                 gate: tuple[float, float] | None = None, **changes: Any) -> Any:
        block = self.mire.mire(costs=costs, hook_limit_kg=limit_kg,
                               gate=gate or self.mire.latlon(150, -20))
        settings = {key: changes.pop(key) for key in tuple(changes) if key.startswith("least_")}
        return self.mire.register(self.book, on, dataclasses.replace(block, **changes),
                                  **settings)

    def at(self, label: str, bags: float, x: float | None = None, y: float = 0.0,
           season: int = 2025) -> Pile:
        return Pile(label, season, bags, None if x is None else self.mire.latlon(x, y))


@pytest.fixture
def scale(mire) -> Scale:
    return Scale(mire, mire.Book())


@pytest.fixture
def ten() -> Callable[[float, float], list[float]]:
    """Ten bags of a mean and a standard deviation. [kg]."""
    def make(mean: float, sd: float) -> list[float]:
        apart = sd * 0.9**0.5
        return [mean + apart, mean - apart] * 5
    return make


@pytest.fixture
def day_after() -> Callable[[int], date]:
    return lambda days: WEIGHED + timedelta(days=days)
