"""Tracks are let go of: nothing of them stays in the folder, and no figure moves."""

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from fieldapp.record import encode_track
from sync.crop.kept import Kept
from sync.disk.folder import load_block
from sync.disk.journal import ShedJournal
from sync.disk.kept import KeptReads
from sync.disk.load import load_inputs
from sync.disk.memo import MEMO_FILE
from sync.disk.thin import is_due, thin
from sync.errors import DiskError
from sync.flags.raised import flags_of
from sync.geometry.crs import projection
from sync.register.build import build
from sync.register.why import why_cell
from sync.report.document import register_document, register_json

GROUND = projection(2193)
E0, N0 = 1_329_400.0, 5_249_300.0
START = datetime(2025, 11, 10, 19, tzinfo=UTC)
AFTER = datetime(2026, 9, 1, tzinfo=UTC)
ON = datetime(2026, 8, 1, tzinfo=UTC).date()


def walk(phone, start, places, person="MT", *, every_s=20, bags_at=(), cell=None):
    """Walk through places, a fix every 20 s, with a bag at some of them; records of 15 fixes."""
    phone.note("outing", start, person, state="start", role="picker", where=None, cell=cell)
    fixes = []
    for i, (x, y) in enumerate(places):
        lat, lon = map(float, GROUND.to_deg(E0 + x, N0 + y))
        fixes.append((start + timedelta(seconds=every_s * i), lat, lon, 5.0))
    for first in range(0, len(fixes), 15):
        part = fixes[first:first + 15]
        at = part[-1][0]
        phone.note("track", at, person, where=None, **encode_track(part))
        for i in bags_at:
            if part[0][0] <= fixes[i][0] <= at:
                phone.bag(fixes[i][0], *places[i], person=person, pile="P1-001")
    phone.note("outing", fixes[-1][0] + timedelta(minutes=5), person, state="end", finished=[],
               where=None)


@pytest.fixture
def trodden(small):
    """A block with two walks, their cells confirmed; one of them is over a border and a rest."""
    made = small()
    p1 = made.phone("p1")
    lanes = [(120 + 0.2 * i, 150 + 3 * (i // 60)) for i in range(300)]
    walk(p1, START, lanes, bags_at=(60, 120, 180, 240, 299), cell="B02")
    border = [(195 + 0.05 * i, 50 + 0.1 * (i % 7)) for i in range(200)]
    walk(p1, START + timedelta(days=40), border, bags_at=(50, 100, 150, 199), cell="B01")
    made.take({"a.handover.zip": p1.pack()})
    return made, p1


def document(folder):
    register = build(load_inputs(folder), on=ON)
    return register_json(register_document(register, flags_of(register)))


def bytes_in(folder: Path) -> bytes:
    return b"".join(path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file())


def rule_all(folder):
    """Rule on every flag that is open."""
    register = build(load_inputs(folder), on=AFTER.date())
    with ShedJournal(folder) as journal:
        journal.write_down([{
            "kind": "ruling", "at": "2026-08-20T00:00:00.000Z", "person": "O", "where": None,
            "flag": flag.name, "says": "agreed", "seen": flag.seen,
        } for flag in flags_of(register)], arrived=AFTER)


def points_as_text(phone):
    """Pieces of every track as they lie in a record."""
    for record in phone.records:
        if record["kind"] == "track":
            yield json.dumps(record["lat_e7"], separators=(",", ":"))[1:40].encode()
            yield json.dumps(record["lon_e7"], separators=(",", ":"))[1:40].encode()


def test_tracks_go_after_their_season_and_no_byte_of_the_register_moves(trodden):
    made, phone = trodden
    rule_all(made.folder)
    before = document(made.folder)
    assert all(text in bytes_in(made.folder) for text in points_as_text(phone))

    done = thin(made.folder, load_inputs(made.folder), now=AFTER)

    assert (done.seasons, done.points, done.kept, done.moved) == ((2025,), 500, (), False)
    assert document(made.folder) == before
    left = bytes_in(made.folder)
    assert not any(text in left for text in points_as_text(phone))
    assert not any(word in left for word in (b"lat_e7", b"dt_ms\":["))


def test_the_pickers_word_is_told_before_and_after(trodden):
    made, _ = trodden
    rule_all(made.folder)

    before = why_cell(build(load_inputs(made.folder), on=ON), "B01")
    thin(made.folder, load_inputs(made.folder), now=AFTER)

    assert why_cell(build(load_inputs(made.folder), on=ON), "B01") == before
    (told,) = [line for line in before if "word counted" in line]
    assert "B01 as the outing began: of 1 such words proved on days before 1.0 were right" in told
    assert "a chance of 0.67 [p1-aaaa:" in told


def test_the_same_file_taken_again_brings_no_track_back(trodden):
    made, phone = trodden
    rule_all(made.folder)
    thin(made.folder, load_inputs(made.folder), now=AFTER)
    before = document(made.folder)

    (taken,) = made.take({"again.handover.zip": phone.pack()}, now=AFTER)

    assert (taken.new, taken.refused) == (0, None)
    assert document(made.folder) == before
    assert b"lat_e7" not in bytes_in(made.folder)


def test_a_running_shed_goes_on_as_if_it_had_begun_after_the_tracks_went(trodden):
    made, phone = trodden
    reads, kept = KeptReads(), Kept()

    def in_the_shed():
        register = build(load_inputs(made.folder, kept=reads), on=ON, kept=kept)
        return register_json(register_document(register, flags_of(register)))

    assert in_the_shed() == document(made.folder)
    rule_all(made.folder)
    assert in_the_shed() == document(made.folder)
    assert thin(made.folder, load_inputs(made.folder), now=AFTER).points == 500
    assert in_the_shed() == document(made.folder)
    phone.bag(START + timedelta(days=40, minutes=30), 198, 50, person="MT", pile="P1-001")
    made.take({"late.handover.zip": phone.pack()}, now=AFTER)
    assert in_the_shed() == document(made.folder)


def test_a_press_keeps_its_place(trodden):
    made, _ = trodden
    rule_all(made.folder)
    before = [(p.bag.name, p.e, p.n, dict(p.chances), p.how)
              for p in build(load_inputs(made.folder), on=ON).known.placed]
    thin(made.folder, load_inputs(made.folder), now=AFTER)
    after = build(load_inputs(made.folder), on=ON).known.placed

    assert [(p.bag.name, p.e, p.n, dict(p.chances), p.how) for p in after] == before
    assert {p.how for p in after} == {"track"}
    assert all(p.bag.where is not None for p in after)


@pytest.mark.parametrize("now", [
    datetime(2026, 6, 1, tzinfo=UTC), datetime(2026, 8, 28, 11, tzinfo=UTC)])
def test_tracks_stay_until_60_days_after_their_season(trodden, now):
    # The season ends on 30 June 2026; day 60 after it is 29 August, local days.
    made, _ = trodden
    rule_all(made.folder)

    assert thin(made.folder, load_inputs(made.folder), now=now).records == 0
    assert b"lat_e7" in bytes_in(made.folder)


def test_is_due_asks_no_register(trodden):
    made, _ = trodden
    block, tunables = load_block(made.folder)

    assert not is_due(made.folder, block, tunables, now=datetime(2026, 6, 1, tzinfo=UTC))
    assert is_due(made.folder, block, tunables, now=AFTER)
    rule_all(made.folder)
    thin(made.folder, load_inputs(made.folder), now=AFTER)
    assert not is_due(made.folder, block, tunables, now=AFTER)


def test_tracks_stay_while_a_flag_that_rests_on_them_is_open(trodden):
    made, phone = trodden
    register = build(load_inputs(made.folder), on=AFTER.date())
    open_flags = [f.name for f in flags_of(register) if f.rule == "weak_position"]
    assert open_flags

    done = thin(made.folder, load_inputs(made.folder), now=AFTER)

    assert done.records == 0
    assert done.kept == ((2025, tuple(open_flags)),)
    assert all(text in bytes_in(made.folder) for text in points_as_text(phone))


def test_a_late_bag_finds_the_spans_of_a_track_that_is_gone(trodden):
    made, _ = trodden
    rule_all(made.folder)
    thin(made.folder, load_inputs(made.folder), now=AFTER)
    other = made.phone("p2", key=bytes(range(2, 34)))
    at = START + timedelta(seconds=20 * 90)
    other.bag(at, 10, 10, person="RK", **{"for": "MT"})
    made.take({"late.handover.zip": other.pack()}, now=AFTER)

    placed = {p.bag.name: p for p in build(load_inputs(made.folder), on=ON).known.placed}

    late = placed["p2-aaaa:1"]
    assert late.how == "track"
    assert late.chances == pytest.approx({"B02": 1.0})


def test_what_walks_told_is_remembered_beside_the_journal_and_goes_with_the_tracks(trodden):
    made, _ = trodden
    rule_all(made.folder)
    without = document(made.folder)
    memo = made.folder / MEMO_FILE
    assert memo.stat().st_mode & 0o777 == 0o600
    assert document(made.folder) == without
    memo.write_bytes(b"damaged")
    assert document(made.folder) == without
    memo.unlink(missing_ok=True)
    build(load_inputs(made.folder), on=ON)
    swath = memo.read_bytes()
    thin(made.folder, load_inputs(made.folder), now=AFTER)
    assert not memo.exists() or b"walk:" not in memo.read_bytes()
    assert b"walk:" in swath


def test_2026_11_29_who_began_before_tracks_went_writes_none_of_them_back(trodden):
    """A register read before and kept after put the swaths back where the tracks had gone."""
    made, _ = trodden
    rule_all(made.folder)
    begun = load_inputs(made.folder, tracks_apart=False)
    without = document(made.folder)
    thin(made.folder, load_inputs(made.folder), now=AFTER)
    assert document(made.folder) == without
    build(begun, on=ON)

    assert b"walk:" not in (made.folder / MEMO_FILE).read_bytes()
    assert document(made.folder) == without


def begun_as_tracks_go(folder, monkeypatch, failure, *, last=lambda: None):
    """Let tracks go, which fails at the end, and give what another had read of them meanwhile."""
    begun, real = [], ShedJournal.thin

    def fails(journal, bodies):
        begun.append(load_inputs(folder, tracks_apart=False))
        real(journal, bodies)
        last()
        raise failure

    monkeypatch.setattr(ShedJournal, "thin", fails)
    with pytest.raises(type(failure)):
        thin(folder, load_inputs(folder), now=AFTER)
    return begun[0]


def test_2026_11_29_who_began_while_tracks_went_writes_none_of_them_back(trodden, monkeypatch):
    """Between the first forgetting and the going; the file is full before it can be compacted."""
    made, _ = trodden
    rule_all(made.folder)
    without = document(made.folder)
    begun = begun_as_tracks_go(
        made.folder, monkeypatch, DiskError("journal.sqlite: the disk is full; make room"))
    build(begun, on=ON)

    assert not (made.folder / MEMO_FILE).exists()
    assert document(made.folder) == without


def test_2026_11_29_a_memory_of_before_tracks_went_goes_with_the_next_register(
        trodden, monkeypatch):
    """The power goes as tracks have gone, and another keeps what it had read of them."""
    made, _ = trodden
    rule_all(made.folder)
    without = document(made.folder)
    with monkeypatch.context() as dark:
        begun = begun_as_tracks_go(made.folder, dark, InterruptedError(), last=lambda: (
            dark.setattr("sync.disk.thin.forget", lambda folder: None)))
    build(begun, on=ON)
    assert b"walk:" in (made.folder / MEMO_FILE).read_bytes()

    assert document(made.folder) == without
    assert b"walk:" not in (made.folder / MEMO_FILE).read_bytes()


def test_2026_11_29_how_often_tracks_went_is_asked_before_they_are_read(trodden, monkeypatch):
    made, _ = trodden
    rule_all(made.folder)
    without, real = document(made.folder), ShedJournal.held

    def held_meanwhile(journal, known_by=None):
        found = real(journal, known_by)
        monkeypatch.setattr(ShedJournal, "held", real)
        assert thin(made.folder, load_inputs(made.folder), now=AFTER).records > 0
        return found

    monkeypatch.setattr(ShedJournal, "held", held_meanwhile)
    build(load_inputs(made.folder, tracks_apart=False), on=ON)

    assert not (made.folder / MEMO_FILE).exists()
    assert document(made.folder) == without


def test_a_thinned_track_that_somebody_made_up_stops_no_register(small):
    made = small()
    phone = made.phone("p1")
    phone.note("outing", START, state="start", role="picker", where=None)
    phone.note("track", START, where=None, thinned={
        "sum": "a" * 64, "spans": [], "swept_m2": {"x": {"C99999": -5}},
        "walk": {"since_ms": START.timestamp() * 1000, "fixes": [[1]]}})
    phone.bag(START + timedelta(minutes=10), 150, 150)
    made.take({"odd.handover.zip": phone.pack()})

    (placed,) = build(load_inputs(made.folder), on=ON).known.placed
    assert placed.how == "fix"
