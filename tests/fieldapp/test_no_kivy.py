"""All but the screens is imported without the screens, as the shed and the location service do."""

import os
import subprocess
import sys

import pytest

ASK = """
import importlib, pkgutil, sys
for name in sys.argv[1:]:
    package = importlib.import_module(name)
    for found in pkgutil.walk_packages(getattr(package, "__path__", []), name + "."):
        importlib.import_module(found.name)
print(*sorted({"kivy", "plyer"} & set(sys.modules)))
"""
PLAIN = ["fieldapp.record", "fieldapp.handover", "fieldapp.ground", "fieldapp.capture",
         "fieldapp.device", "fieldapp.phone", "fieldapp.words"]


def loaded(*names: str) -> str:
    quiet = {**os.environ, "KIVY_NO_ARGS": "1", "KIVY_NO_CONFIG": "1", "KIVY_NO_FILELOG": "1",
             "KIVY_LOG_MODE": "PYTHON"}
    done = subprocess.run([sys.executable, "-c", ASK, *names], capture_output=True, text=True,
                          check=True, env=quiet)
    return done.stdout.strip()


@pytest.mark.parametrize("name", PLAIN)
def test_nothing_but_the_screens_loads_kivy_or_plyer(name):
    assert loaded(name) == ""


def test_neither_the_command_nor_the_desk_loads_kivy_before_it_is_asked_to():
    assert loaded("sync.cli", "fieldapp.__main__") == ""


def test_what_loads_kivy_is_noticed():
    assert loaded("kivy.utils") == "kivy"
