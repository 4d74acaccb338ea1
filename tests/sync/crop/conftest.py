import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

PUBLISHED = Path(__file__).parents[2] / "published" / "crop.toml"


@pytest.fixture(scope="session")
def printed() -> dict[str, Any]:
    return tomllib.loads(PUBLISHED.read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def agrees() -> Callable[[float, str], bool]:
    def agree(value: float, text: str) -> bool:
        digits = len(text.partition(".")[2])
        return abs(value - float(text)) <= max(0.5000001 * 10.0**-digits, 1e-6 * abs(float(text)))

    return agree
