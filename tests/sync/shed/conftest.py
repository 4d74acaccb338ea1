import importlib.util
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest


def _helper(name: str) -> ModuleType:
    """Load a helper of this folder by its path, as test folders are no packages."""
    spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name(f"{name}.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module  # tests import it by this name
    spec.loader.exec_module(module)
    return module


running_shed = _helper("running_shed")
_helper("cutting")


@pytest.fixture
def open_here() -> Iterator[Callable[..., Any]]:
    """Open real servers in threads of this process; all are closed at the end."""
    opened: list[Any] = []

    def start(folder: Path, **limits: Any) -> Any:
        here = running_shed.Here(folder, **limits)
        opened.append(here)
        return here.start()

    yield start
    for here in opened:
        here.stop()


@pytest.fixture
def open_shed() -> Iterator[Callable[..., Any]]:
    """Open real sheds on block folders, each in a process of its own; all close at the end."""
    opened: list[Any] = []

    def start(folder: Path, **told: Any) -> Any:
        running = running_shed.Running(folder, **told)
        opened.append(running)
        return running.start()

    yield start
    for running in opened:
        running.stop()
