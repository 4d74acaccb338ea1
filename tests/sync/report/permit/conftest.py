import importlib.util
from pathlib import Path
from types import ModuleType

import pytest


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
