import importlib.util
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from sync.block import Feature, Plot
from sync.plan.plots.draw import draw_plots


@pytest.fixture(scope="session")
def mire() -> ModuleType:
    """The helper `mire.py`: test folders are no packages, so it is loaded by its path."""
    path = Path(__file__).parents[2] / "mire.py"
    spec = importlib.util.spec_from_file_location(path.stem, path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def surveyed(mire: ModuleType) -> Callable[..., Any]:
    """Make a register of nine lawn and mound cells on a day, with changes of block or settings.

    A01 to A03, B01 and C01 are measured in 2023; A01 and A02 are picked in November 2023 and rest
    until 2028; B01 is picked in 2017 before the program, its rest over, and not measured since.
    """
    def make(on: date, *, measured: str = "A01 A02 A03 B02 C01", gate: bool = True,
             closures: Sequence[Any] = (), plots: Sequence[Plot] | None = None,
             then: Callable[[Any], None] | None = None, **tunables: Any) -> Any:
        book = mire.Book()
        for i, cell in enumerate(measured.split()):
            for k in range(3):
                book.quadrat(date(2023, 6, 15), cell, 45 + 9 * i + 7 * k,
                             (70 + 8 * k, 100 - 6 * i))
        for cell in ("A01", "A02"):
            book.bags(date(2023, 11, 6), cell, 90)
            book.finished(date(2023, 11, 6), cell)
        book.note("past_pick", date(2024, 1, 1), "O", cell="B01",
                  **{"from": "2017-11-01", "to": "2017-11-20"})
        if then is not None:
            then(book)
        block = mire.mire(
            gate=mire.latlon(-20, 10) if gate else None, closures=tuple(closures),
            plots=tuple(p for p in mire.plots() if int(p.name[4:]) <= 3) if plots is None
            else tuple(plots),
            classes=(Feature(mire.polygon(0, 0, 200, 300), {"ground_class": "lawn"}),
                     Feature(mire.polygon(200, 0, 300, 300), {"ground_class": "mound"})),
        )
        return mire.register(book, on, block, **tunables)

    return make


@pytest.fixture(scope="session")
def draw(surveyed: Callable[..., Any]) -> Callable[..., Any]:
    """Draw on a day; nobody keeps a plot that was never read, so that all places are new."""
    def make(on: date, surveyors: int = 1, days: int = 1, *, seed: int = 7,
             withdrawn: Sequence[str] = (), **changes: Any) -> Any:
        found = surveyed(on, **changes)
        return draw_plots(found, surveyors, days, seed=seed, withdrawn=withdrawn,
                          streams=lambda k: np.random.default_rng([seed, k]).random)

    return make
