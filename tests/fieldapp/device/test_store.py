import json
import os
import stat

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tinydb import where

from fieldapp.device import files
from fieldapp.device.files import write_safely
from fieldapp.device.store import StoreError, keep_one, kept_one, open_store


@pytest.fixture
def path(tmp_path):
    return tmp_path / "store.json"


def names(folder):
    return sorted(entry.name for entry in folder.iterdir())


def test_what_is_kept_is_read_back_and_is_readable(path):
    with open_store(path) as store:
        store.insert({"plot": "031", "depth_mm": [80, 95]})

    with open_store(path) as store:
        assert store.all() == [{"plot": "031", "depth_mm": [80, 95]}]
    assert json.loads(path.read_text()) == {
        "_default": {"1": {"plot": "031", "depth_mm": [80, 95]}}}


def test_the_one_before_is_kept(path):
    keep_one(path, {"n": 1})
    keep_one(path, {"n": 2})

    assert kept_one(path) == {"n": 2}
    assert kept_one(path.with_name("store.json.before")) == {"n": 1}


@pytest.mark.parametrize("damage", [
    lambda content: content[:-5], lambda _: b"", lambda content: bytes(len(content)),
    lambda _: b"[1]", lambda _: b"\xff\xfe"])
def test_a_damaged_newest_gives_way_to_the_one_before(path, damage):
    keep_one(path, {"n": 1})
    keep_one(path, {"n": 2})
    path.write_bytes(damage(path.read_bytes()))

    assert kept_one(path) == {"n": 1}


def test_a_damaged_newest_never_takes_the_place_of_the_one_before(path):
    keep_one(path, {"n": 1})
    keep_one(path, {"n": 2})
    path.write_bytes(b"rotten")
    keep_one(path, {"n": 3})

    assert kept_one(path.with_name("store.json.before")) == {"n": 1}
    assert kept_one(path) == {"n": 3}


def test_with_both_damaged_it_says_so_and_can_begin_anew(path):
    path.write_bytes(b"rotten")
    with pytest.raises(StoreError, match=r"store\.json"):
        kept_one(path)

    keep_one(path, {"n": 1})

    assert kept_one(path) == {"n": 1}


def test_nothing_kept_yet_is_nothing(path):
    assert kept_one(path) is None
    assert not path.exists()


@pytest.mark.parametrize("step", ["write", "fsync", "replace"])
def test_a_write_that_fails_leaves_what_stood_there(path, step, monkeypatch):
    keep_one(path, {"n": 1})

    def fail(*_):
        raise OSError(28, "No space left on device")

    if step == "replace":
        monkeypatch.setattr(files.Path, "replace", fail)
    else:
        monkeypatch.setattr(os, "fsync" if step == "fsync" else "open", fail)
    with pytest.raises(OSError, match="No space"):
        keep_one(path, {"n": 2})
    monkeypatch.undo()

    assert kept_one(path) == {"n": 1}
    assert not [name for name in names(path.parent) if name.endswith(".new")]


@settings(max_examples=60, deadline=None)
@given(stops=st.lists(st.none() | st.integers(0, 9), min_size=1, max_size=6))
def test_a_power_cut_at_any_step_leaves_the_last_or_the_one_being_written(tmp_path_factory, stops):
    path = tmp_path_factory.mktemp("store") / "store.json"
    keep_one(path, {"n": 0})
    last = 0
    for n, stop in enumerate(stops, start=1):
        whole = _cut_after(stop, path, n)
        read = kept_one(path)["n"]
        assert read in ((n,) if whole else (last, n))
        last = read


def _cut_after(steps, path, n):
    """Write n, but let the power go after so many calls that reach the disk."""
    with pytest.MonkeyPatch.context() as patch:
        left = [steps]

        def counted(real):
            def call(*values, **named):
                if left[0] == 0:
                    raise KeyboardInterrupt
                if left[0] is not None:
                    left[0] -= 1
                return real(*values, **named)
            return call

        for owner, name in ((os, "open"), (os, "fsync"), (files.Path, "replace")):
            patch.setattr(owner, name, counted(getattr(owner, name)))
        try:
            keep_one(path, {"n": n})
        except KeyboardInterrupt:
            return False
    return True


def test_a_private_file_is_its_owners_alone(path):
    with open_store(path, private=True) as store:
        store.insert({"key": "00"})
        store.update({"key": "11"}, where("key") == "00")

    for file in (path, path.with_name("store.json.before")):
        assert stat.S_IMODE(file.stat().st_mode) == 0o600


def test_a_file_is_written_whole_and_nothing_is_left_beside_it(tmp_path):
    write_safely(tmp_path / "a.bin", b"one")
    write_safely(tmp_path / "a.bin", b"two")

    assert (tmp_path / "a.bin").read_bytes() == b"two"
    assert names(tmp_path) == ["a.bin"]
