import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from sync.picks.kilos import KgPerBag, Lot, kg_per_bag
from sync.settings import Tunables

PUBLISHED = Path(__file__).parents[2] / "published" / "picks.toml"


@pytest.fixture(scope="session")
def printed() -> dict[str, Any]:
    return tomllib.loads(PUBLISHED.read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def agrees() -> Callable[[float, str], bool]:
    def agree(value: float, text: str) -> bool:
        digits = len(text.partition(".")[2])
        return abs(value - float(text)) <= max(0.5000001 * 10.0**-digits, 1e-6 * abs(float(text)))

    return agree


@pytest.fixture(scope="session")
def kappa(printed: dict[str, Any]) -> KgPerBag:
    lots = [Lot(bags, kg) for bags, kg in printed["bags"]["lots"]]
    return kg_per_bag(lots, owners_kg=7.0, tunables=Tunables())
