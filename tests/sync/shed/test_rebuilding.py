"""The register behind the pages: whole, in the background, and honest about its age."""

import threading
import time
from datetime import UTC, date, datetime, timedelta

import pytest
from running_shed import picked

from fieldapp.record import encode_track
from sync.disk.journal import ShedJournal
from sync.errors import FallowError
from sync.shed import rebuild
from sync.shed.rebuild import Rebuilder


def now():
    return datetime(2026, 3, 2, 5, tzinfo=UTC)


@pytest.fixture
def rebuilder(small):
    made = []

    def make(block):
        one = Rebuilder(block.folder, now=now)
        made.append(one)
        return one

    yield make
    for one in made:
        one.stop()


def test_there_is_no_register_before_the_first_is_built(small, rebuilder):
    one = rebuilder(small())

    assert one.view() is None
    assert one.on(None) is None

    one.start()

    assert one.wait(1, most_s=30).register.on == date(2026, 3, 2)


def test_the_register_is_kept_as_a_file_too(small, rebuilder):
    from sync.disk.register_file import kept_register

    block = small()
    one = rebuilder(block)
    one.start()
    view = one.wait(1, most_s=30)

    assert kept_register(block.folder)["on"] == view.document["on"]


def test_a_register_is_old_once_something_came_in(small, rebuilder):
    block = small()
    one = rebuilder(block)
    one.start()
    view = one.wait(1, most_s=30)

    assert not one.is_old(view)

    block.take({"a.handover.zip": picked(block).pack()})

    assert one.is_old(view)
    assert not one.is_old(one.wait(one.ask(), most_s=30))


def test_a_register_is_old_once_the_owner_wrote_in_a_file(small, rebuilder):
    block = small()
    one = rebuilder(block)
    one.start()
    view = one.wait(1, most_s=30)
    people = block.folder / "people.toml"
    people.write_text(people.read_text() + '\n[SW]\nname = "S. W."\n')

    assert one.is_old(view)


def test_many_that_ask_while_one_is_built_are_one_build_more(small, rebuilder, monkeypatch):
    block = small()
    one = rebuilder(block)
    builds, let_go = [], threading.Event()
    real = rebuild.build

    def slow(inputs, *, on, kept):
        builds.append(on)
        let_go.wait(20)
        return real(inputs, on=on, kept=kept)

    monkeypatch.setattr(rebuild, "build", slow)
    one.start()
    while not builds:
        time.sleep(0.01)
    asked = [one.ask() for _ in range(20)]
    assert one.state().step == rebuild.WORKING
    let_go.set()
    one.wait(asked[-1], most_s=30)

    assert len(builds) == 2
    assert one.state().step == 0


def test_2026_11_28_pages_share_nothing_with_the_register_that_is_being_built(
        small, rebuilder, monkeypatch):
    """A plan of seasons asked the last register while the next was built, which took its word."""
    block = small()
    built = []
    real = rebuild.build

    def watched(inputs, *, on, kept):
        built.append(real(inputs, on=on, kept=kept))
        return built[-1]

    monkeypatch.setattr(rebuild, "build", watched)
    one = rebuilder(block)
    one.start()
    first = one.wait(1, most_s=30).register
    second = one.wait(one.ask(), most_s=30).register

    shared = {id(register.known.kept) for register in built}
    shown = [id(each.kept) for register in (first, second)
             for each in (register.known, register.crop)]
    assert len(shared) == 1
    assert not shared & set(shown)
    assert first.known.kept is not second.known.kept
    assert first.cells == built[0].cells


def test_what_goes_wrong_is_told_and_the_one_before_stands(small, rebuilder):
    block = small()
    one = rebuilder(block)
    one.start()
    before = one.wait(1, most_s=30)
    (block.folder / "people.toml").write_text("[broken")

    after = one.wait(one.ask(), most_s=30)

    assert after is before
    assert "people.toml" in one.state().wrong


def test_another_day_is_built_once_and_anew_when_something_came_in(small, rebuilder):
    block = small()
    one = rebuilder(block)
    one.start()
    one.wait(1, most_s=30)
    first = one.on(date(2026, 1, 10))

    assert first.register.on == date(2026, 1, 10)
    assert one.on(date(2026, 1, 10)) is first

    block.take({"a.handover.zip": picked(block).pack()})

    assert one.on(date(2026, 1, 10)) is not first


def test_a_day_that_cannot_be_built_is_refused(small, rebuilder):
    block = small()
    one = rebuilder(block)
    one.start()
    one.wait(1, most_s=30)
    (block.folder / "people.toml").write_text("[broken")

    with pytest.raises(FallowError):
        one.on(date(2026, 1, 11))
    assert one.view() is not None


def test_after_tracks_were_let_go_of_the_register_asks_for_none_of_them(small, rebuilder):
    block = small()
    phone, start = block.phone("p1"), datetime(2024, 11, 10, 19, tzinfo=UTC)
    fixes = [(start + timedelta(seconds=20 * i), -43.0, 168.0 + 1e-6 * i, 5.0) for i in range(30)]
    phone.note("outing", start, state="start", role="picker", where=None)
    phone.note("track", fixes[-1][0], where=None, **encode_track(fixes))
    phone.note("outing", start + timedelta(hours=1), state="end", finished=[], where=None)
    block.take({"a.handover.zip": phone.pack()})
    one = rebuilder(block)
    one.start()
    one.wait(1, most_s=30)
    view = one.wait(2, most_s=30)
    with ShedJournal(block.folder) as journal:
        assert journal.oldest_points() is None
    assert view.register.events.tracks == {}
    assert [len(walk.track) for walk in view.register.known.walkers.walks()] == [0]


def test_tracks_that_an_open_flag_keeps_are_looked_at_once_a_day_or_after_a_ruling(
        small, rebuilder, monkeypatch):
    block = small()
    phone, start = block.phone("p1"), datetime(2024, 11, 10, 19, tzinfo=UTC)
    fixes = [(start + timedelta(seconds=20 * i), -43.0, 168.0 + 1e-6 * i, 5.0) for i in range(30)]
    phone.note("outing", start, state="start", role="picker", where=None)
    phone.note("track", fixes[-1][0], where=None, **encode_track(fixes))
    for i in (9, 19, 29):
        phone.bag(fixes[i][0], 10, 10, person="MT", pile="P1-001")
    phone.note("outing", start + timedelta(hours=1), state="end", finished=[], where=None)
    block.take({"a.handover.zip": phone.pack()})
    came, real = [], rebuild.thin

    def counted(folder, inputs, *, now):
        came.append(real(folder, inputs, now=now))
        return came[-1]

    monkeypatch.setattr(rebuild, "thin", counted)
    one = rebuilder(block)
    one.start()
    one.wait(1, most_s=30)
    view = one.wait(one.ask(), most_s=30)

    assert [(thinned.records, len(thinned.kept)) for thinned in came] == [(0, 1)]
    with ShedJournal(block.folder) as journal:
        journal.write_down([{
            "kind": "ruling", "at": "2026-03-02T00:00:00.000Z", "person": "O", "where": None,
            "flag": flag.name, "says": "agreed", "seen": flag.seen} for flag in view.flags],
            arrived=now())
    one.wait(one.ask(), most_s=30)
    one.wait(one.ask(), most_s=30)
    assert [thinned.records for thinned in came] == [0, 1]
