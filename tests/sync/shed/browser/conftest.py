"""A real browser (Debian's Chromium) before a real shed.

Where one of them is missing these tests are skipped, with one line that says what to install; CI
sets FALLOW_MUST_DRAW and refuses to skip.
"""

import importlib.util
import os
import shutil
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any, NoReturn

import pytest
from running_shed import Owner, Running

_HERE = Path(__file__).parent


def _part(name: str, path: Path) -> ModuleType:
    """Load a file by its path, as test folders are no packages."""
    spec = importlib.util.spec_from_file_location(name, path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module  # tests import it by this name
    spec.loader.exec_module(module)
    return module


small_blocks = _part("small_blocks", _HERE.parents[1] / "conftest.py")
mire = _part("mire_with_all", _HERE / "mire_with_all.py")
visit = _part("visit", _HERE / "visit.py")
walk = _part("walk", _HERE / "walk.py")


def _cannot(why: str) -> NoReturn:
    if os.environ.get("FALLOW_MUST_DRAW"):
        pytest.fail(why)
    pytest.skip(why)


@pytest.fixture
def cannot() -> Callable[[str], NoReturn]:
    """Skip a test for what is missing, or fail it where it may not be skipped."""
    return _cannot


@pytest.fixture(scope="session")
def launch() -> Iterator[Callable[..., Any]]:
    """Launch Chromiums, with arguments besides the usual ones."""
    path = shutil.which("chromium")
    if path is None:
        _cannot("no chromium: apt-get install chromium")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        _cannot("no playwright: pip install playwright; it needs no browser of its own")
    with sync_playwright() as playwright:
        yield lambda *more: playwright.chromium.launch(
            executable_path=path, args=[*visit.ARGS, *more])


@pytest.fixture(scope="session")
def chromium(launch: Callable[..., Any]) -> Iterator[Any]:
    """Open one Chromium for all tests; each gets windows of its own in it."""
    browser = launch()
    yield browser
    browser.close()


@pytest.fixture(scope="session")
def shed_to_look_at(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Open the shed of a mire with something of everything; tests change nothing in it."""
    folder = tmp_path_factory.mktemp("looked-at") / "block"
    mire.make(folder, small_blocks)
    running = Running(folder).start()
    _plan_seasons(running)
    yield running
    running.stop()


def _plan_seasons(running: Running) -> None:
    """Have the seasons worked out, so that the pages have them."""
    owner = Owner(running)
    owner.sign_in(running.key)
    page = f"/plan?{visit.ON}"
    owner.ready(page)
    owner.post(f"/plan/seasons?{visit.ON}", page=page, years="4", no_neighbours="1")
    until = time.monotonic() + 60.0
    while "being worked out" in owner.ready(page).text:
        assert time.monotonic() < until
        time.sleep(0.2)


@pytest.fixture(scope="session")
def cookies(chromium: Any, shed_to_look_at: Any) -> Callable[[str], Any]:
    """Sign in to the shed that is looked at, once a language."""
    kept: dict[str, Any] = {}

    def signed_in(locale: str) -> Any:
        if locale not in kept:
            seen = visit.visitor(chromium, shed_to_look_at, locale=locale)
            seen.sign_in(shed_to_look_at.key)
            kept[locale] = seen.page.context.storage_state()
            seen.page.context.close()
        return kept[locale]

    return signed_in


@pytest.fixture(scope="session")
def visitor_of(chromium: Any, shed_to_look_at: Any, cookies: Callable[[str], Any]
               ) -> Callable[[str], Any]:
    """Look at the shed with something of everything in a language; the caller closes it."""
    return lambda locale: visit.visitor(
        chromium, shed_to_look_at, locale=locale, storage_state=cookies(locale))


@pytest.fixture
def windows(chromium: Any) -> Iterator[Callable[..., Any]]:
    """Open windows on any shed; none of their pages may break its own policy."""
    opened: list[Any] = []

    def at(shed: Any, *, browser: Any = None, **context: Any) -> Any:
        opened.append(visit.visitor(browser or chromium, shed, **context))
        return opened[-1]

    yield at
    broken = [said for one in opened for said in one.broken]
    for one in opened:
        one.page.context.close()
    assert broken == []


@pytest.fixture
def look(windows: Callable[..., Any], shed_to_look_at: Any, cookies: Callable[[str], Any]
         ) -> Callable[..., Any]:
    """Look at the shed with something of everything, signed in."""
    def at(**context: Any) -> Any:
        state = cookies(context.get("locale", "en-GB"))
        return windows(shed_to_look_at, storage_state=state, **context)
    return at


@pytest.fixture(scope="session")
def axe() -> str:
    """Give the source of axe-core."""
    found = visit.axe_file()
    if found is None:
        _cannot("no axe-core: npm install --no-save axe-core@4, or FALLOW_AXE=its axe.min.js")
    return found.read_text()
