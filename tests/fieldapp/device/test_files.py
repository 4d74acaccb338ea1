from datetime import UTC, datetime

import pytest

from fieldapp.device import files
from fieldapp.device.files import hand_over, parts, save_hand_over
from fieldapp.device.journal import Journal
from fieldapp.handover import seal_fits, unpack
from fieldapp.record import RecordError, canonical

AT = "2026-01-20T19:10:00.000Z"
KEY = bytes(range(32))
TOLD = {"block": "km7q2x4a", "program": "0.1.0", "made_at": datetime(2026, 1, 21, tzinfo=UTC),
        "key": KEY}


@pytest.fixture
def journal(tmp_path):
    with Journal.open(tmp_path / "journal.sqlite", device="p3-k7f2") as opened:
        yield opened


@pytest.fixture
def photos(tmp_path):
    folder = tmp_path / "photos"
    folder.mkdir()
    return folder


def note(journal, count=1, **fields):
    for _ in range(count):
        journal.append({"kind": "mark", "at": AT, "person": "MT", "what": "hazard", "name": "",
                        **fields})


def photograph(journal, photos, name, content=b"\xff\xd8\xff\xd9"):
    (photos / name).write_bytes(content)
    note(journal, photo=name)


def test_a_hand_over_holds_what_the_shed_is_not_known_to_hold(journal):
    note(journal, 5)
    journal.acknowledge([(1, 2)])

    (span,) = parts(journal, None)
    handover = unpack(hand_over(journal, span, **TOLD))

    assert span == (3, 5)
    assert handover.lines == tuple(canonical(record) for record in journal.records(3))
    assert seal_fits(handover.manifest, KEY)


def test_with_all_at_the_shed_a_hand_over_still_says_how_far_the_phone_is(journal):
    note(journal, 5)
    journal.acknowledge([(1, 5)])

    (span,) = parts(journal, None)
    manifest = unpack(hand_over(journal, span, **TOLD)).manifest

    assert (manifest.first_seq, manifest.last_seq, manifest.count) == (6, 5, 0)


def test_an_empty_journal_has_nothing_to_hand_over(journal):
    (span,) = parts(journal, None)

    with pytest.raises(RecordError):
        hand_over(journal, span, **TOLD)


def test_records_lost_to_a_journal_set_back_are_admitted_as_missing(journal):
    note(journal, 1)
    journal.acknowledge([(2, 9)])
    note(journal, 1)

    manifest = unpack(hand_over(journal, *parts(journal, None), **TOLD)).manifest

    assert (manifest.first_seq, manifest.last_seq, manifest.missing) == (1, 10, ((2, 9),))


def test_photos_go_with_their_records_and_a_lost_one_is_left_out(journal, photos):
    photograph(journal, photos, "p3-k7f2-1.jpg")
    note(journal, photo="gone.jpg")

    handover = unpack(hand_over(journal, *parts(journal, photos), **TOLD, photos=photos))

    assert dict(handover.photos) == {"p3-k7f2-1.jpg": b"\xff\xd8\xff\xd9"}
    assert handover.bad_photos == ()


@pytest.mark.parametrize(("most", "size", "spans"), [
    (2, 10**9, ((1, 3), (4, 6), (7, 8))), (900, 8, ((1, 3), (4, 6), (7, 8))),
    (900, 3, ((1, 2), (3, 3), (4, 5), (6, 6), (7, 8))), (900, 10**9, ((1, 8),))])
def test_very_many_photos_are_spread_over_several_files(journal, photos, monkeypatch, most, size,
                                                        spans):
    monkeypatch.setattr(files, "PHOTOS_A_FILE", most)
    monkeypatch.setattr(files, "PHOTO_BYTES_A_FILE", size)
    for number in range(1, 9):
        if number in (2, 5, 8):
            note(journal)
        else:
            photograph(journal, photos, f"{number}.jpg")

    assert parts(journal, photos) == spans

    handovers = [unpack(hand_over(journal, span, **TOLD, photos=photos))
                 for span in parts(journal, photos)]
    assert [name for handover in handovers for name in handover.photos] == [
        "1.jpg", "3.jpg", "4.jpg", "6.jpg", "7.jpg"]
    assert sum(len(handover.lines) for handover in handovers) == 8


def test_a_saved_hand_over_is_never_written_over(tmp_path):
    folder = tmp_path / "stick"
    folder.mkdir()

    first = save_hand_over(folder, b"one", device="p3-k7f2", span=(1, 8))
    again = save_hand_over(folder, b"one", device="p3-k7f2", span=(1, 8))
    other = save_hand_over(folder, b"two", device="p3-k7f2", span=(1, 8))

    assert first == again == folder / "p3-k7f2-1-8.handover.zip"
    assert other == folder / "p3-k7f2-1-8-2.handover.zip"
    assert first.read_bytes() == b"one"
    assert sorted(folder.iterdir()) == [other, first]
