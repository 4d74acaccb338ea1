"""The command as its users call it."""

import pytest

from sync.cli import app
from sync.cli.shown import run


@pytest.fixture
def fallow(monkeypatch, capsys):
    """Call the command with words; gives its exit code and what it said."""
    def call(*words: object) -> tuple[int, str, str]:
        monkeypatch.setattr("sys.argv", ["fallow", *map(str, words)])
        code = run(app)
        said = capsys.readouterr()
        return code, said.out, said.err
    return call
