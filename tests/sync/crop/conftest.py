import importlib.util
import tomllib
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
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


def load(path: Path) -> ModuleType:
    """Load a helper by its path: test folders are no packages."""
    spec = importlib.util.spec_from_file_location(path.stem, path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def made() -> ModuleType:
    """The helper `mire.py`."""
    return load(Path(__file__).parents[1] / "mire.py")


@pytest.fixture(scope="session")
def hand() -> ModuleType:
    """The helper `by_hand.py`: the same figures from the formulas alone."""
    return load(Path(__file__).with_name("by_hand.py"))


@pytest.fixture(scope="session")
def mire() -> ModuleType:
    """The helper `mire.py`: test folders are no packages, so it is loaded by its path."""
    path = Path(__file__).parents[1] / "mire.py"
    spec = importlib.util.spec_from_file_location(path.stem, path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
