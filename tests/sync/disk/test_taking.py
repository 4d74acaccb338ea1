"""Files come in whole or not at all, in any order, any number of times, and the log says so."""

import io
import json
import zipfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from fieldapp.handover import unpack
from fieldapp.record import instant, limits
from sync.disk.handovers import photos_aside
from sync.disk.journal import ShedJournal
from sync.disk.taking import Options, take_again, take_files
from sync.intake.merge import merge

AT = datetime(2026, 1, 20, 20, tzinfo=UTC)
ARRIVED = datetime(2026, 3, 1, tzinfo=UTC)
LATER = ARRIVED + timedelta(days=10)
JPEG = b"\xff\xd8\xff\xe0" + bytes(200) + b"\xff\xd9"


@pytest.fixture
def block(small):
    return small()


@pytest.fixture
def phone(block):
    made = block.phone("p1")
    for i in range(4):
        made.bag(AT + timedelta(minutes=i), 150, 150)
    return made


def take(block, files, **options):
    return block.take(files, **options)


def held(block, known_by=None):
    with ShedJournal(block.folder) as journal:
        return journal.held(known_by), journal.waiting(known_by)


def log(block):
    return (block.folder / "intake.log").read_text().splitlines()


def contents(folder):
    return {str(path.relative_to(folder)): path.read_bytes() for path in Path(folder).rglob("*")
            if path.is_file() and path.name != "intake.log"
            and not path.name.startswith("journal.sqlite")}


def test_each_file_is_told_by_itself_and_a_bad_one_stops_no_other(block, phone):
    found = take(block, {
        "a.handover.zip": phone.pack(1, 2), "b.handover.zip": b"no zip at all",
        "c.csv": b"form,row,kind,day,person,bags\np,1,bag,2026-01-21,O,3\np,2,bag,then,O,3\n",
        "d.handover.zip": phone.pack(2, 4)})
    assert [(one.new, one.known, len(one.aside)) for one in found] == [
        (2, 0, 0), (0, 0, 0), (1, 0, 1), (2, 1, 0)]
    assert [one.refused is not None for one in found] == [False, True, False, False]
    sound, waiting = held(block)
    assert [one.name for one in sound] == ["form-p:1", *(f"p1-aaaa:{i}" for i in range(1, 5))]
    assert waiting == ()


def test_the_log_has_one_line_a_file_with_its_counts_or_its_reason(block, phone):
    take(block, {"a.handover.zip": phone.pack(), "b.handover.zip": b"x"})
    one, two = log(block)
    assert one == "2026-03-01T00:00:00.000Z 'a.handover.zip' taken: 4 new, 0 known, 0 set aside"
    assert two.startswith("2026-03-01T00:00:00.000Z 'b.handover.zip' refused: ")


def test_a_line_of_the_log_stays_one_line_whatever_the_file_is_called(block):
    take(block, {"a\nb\x1b[31m ü.zip": b"x"})
    (line,) = log(block)
    assert line.isascii()
    assert line.isprintable()


def test_a_file_taken_twice_changes_nothing_but_the_log(block, phone):
    take(block, {"a.handover.zip": phone.pack()})
    before, kept = held(block), contents(block.folder)
    (again,) = take(block, {"a.handover.zip": phone.pack()}, now=LATER)
    assert (again.new, again.known) == (0, 4)
    assert (held(block), contents(block.folder)) == (before, kept)
    assert len(log(block)) == 2


def test_a_refused_file_changes_nothing_but_the_log(block, phone):
    take(block, {"a.handover.zip": phone.pack(1, 2)})
    before, kept = held(block), contents(block.folder)
    for changes in ({"key": bytes(32)}, {"key": None}, {"block": "otherblk"}, {"block": None}):
        (refused,) = take(block, {"b.handover.zip": phone.pack(1, 4, **changes)})
        assert refused.refused
        assert (refused.new, refused.known, refused.aside) == (0, 0, ())
    assert (held(block), contents(block.folder)) == (before, kept)


def test_a_file_that_cannot_be_read_is_refused_by_itself(block, tmp_path):
    found = take_files(block.folder, block.block, [tmp_path / "none.zip", tmp_path], Options(),
                       now=ARRIVED)
    assert [one.refused.split(":")[0] for one in found] == ["it cannot be read"] * 2


def test_what_came_unsealed_counts_as_sealed_once_the_sealed_file_comes(block, phone):
    (taken,) = take(block, {"a.handover.zip": phone.pack(key=None)}, unsealed=True)
    assert taken.new == 4
    assert not any(one.sealed for one in held(block)[0])
    (taken,) = take(block, {"b.handover.zip": phone.pack()})
    assert (taken.new, taken.known) == (0, 4)
    assert all(one.sealed for one in held(block)[0])


def test_2026_11_25_a_seal_that_fits_is_believed_though_unsealed_files_are_let_in(block, phone):
    take(block, {"a.handover.zip": phone.pack()}, unsealed=True)
    assert all(one.sealed for one in held(block)[0])


def test_a_seal_of_another_block_is_not_believed_by_saying_unsealed(block, phone):
    take(block, {"a.handover.zip": phone.pack(block="otherblk")}, unsealed=True)
    assert [one.sealed for one in held(block)[0]] == [False] * 4


def test_sound_records_are_taken_though_others_of_the_file_wait(block, phone):
    phone.records[1]["bags"] = 77
    phone.records[2]["kind"] = "dream"
    (taken,) = take(block, {"a.handover.zip": phone.pack()})
    assert (taken.new, len(taken.aside)) == (3, 1)
    (waits,) = taken.aside
    assert (waits.file, waits.line, waits.name, waits.field, waits.value) == (
        "a.handover.zip", 2, "p1-aaaa:2", "bags", "77")
    assert any("1 records are of kinds" in one for one in taken.told)


def test_what_was_set_aside_waits_until_it_passes_and_keeps_its_arrival(
    block, phone, monkeypatch
):
    phone.records[1]["kind"] = "skip"
    phone.records[1] |= {"plot": "001", "why": "fog"}
    take(block, {"a.handover.zip": phone.pack()})
    assert take_again(block.folder, now=LATER) == (0, held(block)[1])
    # A later program knows the word.
    later = dict(limits._NEEDED)
    later["skip"] = {**later["skip"], "why": lambda value: None}
    monkeypatch.setattr(limits, "_NEEDED", later)
    assert take_again(block.folder, now=LATER) == (1, ())
    assert "p1-aaaa:2" in {one.name for one in held(block, ARRIVED)[0]}
    assert "set aside" in log(block)[-1]
    assert "1 new" in log(block)[-1]
    (taken,) = take(block, {"a.handover.zip": phone.pack()}, now=LATER)
    assert (taken.new, taken.known) == (0, 4)


def test_known_by_asks_for_what_had_arrived(block, phone):
    take(block, {"a.handover.zip": phone.pack(1, 2)})
    take(block, {"b.handover.zip": phone.pack(3, 4)}, now=LATER)
    assert len(held(block, ARRIVED)[0]) == 2
    assert len(held(block, LATER)[0]) == 4
    assert held(block, ARRIVED - timedelta(seconds=1))[0] == ()


def test_what_the_phone_admits_to_be_missing_is_told(block, phone):
    del phone.records[1:3]
    (taken,) = take(block, {"a.handover.zip": phone.pack(1, 4)})
    assert any("records 2-3 are missing" in one for one in taken.told)


@pytest.mark.parametrize(("at", "told"), [
    (ARRIVED + timedelta(hours=23), False), (ARRIVED + timedelta(hours=25), True)])
def test_a_clock_ahead_of_the_arrival_is_told(block, at, told):
    phone = block.phone("p1")
    phone.note("check_in", at, state="fine", where=None)
    (taken,) = take(block, {"a.handover.zip": phone.pack()})
    assert any("dated after tomorrow" in one for one in taken.told) == told


def with_photo(block, content=JPEG):
    phone = block.phone("p1")
    name = "p1-aaaa-1.jpg"
    phone.note("mark", AT, what="other", name="x", photo=name, where=None)
    return phone, {name: content}


def test_photos_come_beside_the_records_and_another_of_that_name_beside_the_first(block):
    phone, photos = with_photo(block)
    take(block, {"a.handover.zip": phone.pack(photos=photos)})
    folder = block.folder / "photos" / "p1-aaaa"
    assert (folder / "p1-aaaa-1.jpg").read_bytes() == JPEG
    take(block, {"b.handover.zip": phone.pack(photos={"p1-aaaa-1.jpg": JPEG + b"x"})})
    take(block, {"a.handover.zip": phone.pack(photos=photos)})
    assert (folder / "p1-aaaa-1.jpg").read_bytes() == JPEG
    assert len(list(folder.iterdir())) == 2


def spoil(data, photo=b"\x00\x01 no picture"):
    """The same file with another picture under its name."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as read, zipfile.ZipFile(out, "w") as write:
        for name in read.namelist():
            write.writestr(name, photo if name.endswith(".jpg") else read.read(name))
    assert unpack(out.getvalue()).bad_photos
    return out.getvalue()


def test_a_bad_photo_is_set_aside_alone(block):
    phone, photos = with_photo(block)
    (taken,) = take(block, {"a.handover.zip": spoil(phone.pack(photos=photos))})
    assert (taken.new, taken.bad_photos) == (1, 1)
    (one,) = photos_aside(block.folder)
    assert (one["file"], one["photo"]) == ("a.handover.zip", "p1-aaaa-1.jpg")
    assert instant(one["arrived"]) == ARRIVED


def test_2026_11_25_a_bad_photo_taken_twice_is_listed_once(block):
    phone, photos = with_photo(block)
    data = spoil(phone.pack(photos=photos))
    take(block, {"a.handover.zip": data})
    take(block, {"a.handover.zip": data}, now=LATER)
    assert len(photos_aside(block.folder)) == 1


def test_2026_11_25_a_bad_photo_that_comes_whole_after_all_waits_no_more(block):
    phone, photos = with_photo(block)
    take(block, {"a.handover.zip": spoil(phone.pack(photos=photos))})
    take(block, {"a.handover.zip": phone.pack(photos=photos)}, now=LATER)
    assert photos_aside(block.folder) == []


FORM = "form,row,kind,day,person,bags,cell\npaper,1,bag,2026-01-21,O,3,B02\n"


def test_a_form_row_is_taken_once_refused_when_changed_and_mended_when_told_to(block):
    (first,) = take(block, {"f.csv": FORM.encode()})
    (again,) = take(block, {"f.csv": FORM.encode()})
    changed = FORM.replace(",3,", ",4,").encode()
    (refused,) = take(block, {"f.csv": changed})
    (mended,) = take(block, {"f.csv": changed}, mend=True)
    (once,) = take(block, {"f.csv": changed}, mend=True)
    counts = [(t.new, t.known, len(t.aside)) for t in (first, again, refused, mended, once)]
    assert counts == [(1, 0, 0), (0, 1, 0), (0, 0, 1), (1, 0, 0), (0, 1, 0)]
    assert "1 mends written down at the shed" in mended.told
    sound, waiting = held(block)
    assert waiting == (), "a form's bad rows wait in the form"
    by_name = {one.name: one.record for one in sound}
    assert by_name["shed:1"]["instead_of"] == "form-paper:1"
    assert by_name["form-paper:1"]["bags"] == 3


def test_a_form_row_may_mend_and_void_what_a_phone_noted(block, phone):
    take(block, {"a.handover.zip": phone.pack()})
    rows = ("form,row,kind,day,person,bags,of,instead_of\n"
            "p,1,bag,2026-01-21,O,5,,p1-aaaa:2\np,2,void,2026-01-21,O,,p1-aaaa:3,\n")
    (taken,) = take(block, {"f.csv": rows.encode()})
    assert (taken.new, taken.aside) == (2, ())
    sound, waiting = held(block)
    counted = merge(sound, waiting, zone="UTC", clock_off_s=120.0).counted
    assert {one.name: one.record["bags"] for one in counted} == {
        "p1-aaaa:1": 1, "shed:1": 5, "p1-aaaa:4": 1}
    (mend,) = [one for one in counted if one.name == "shed:1"]
    assert (mend.at, mend.person) == (AT + timedelta(minutes=1), "MT")


def test_what_is_no_form_is_refused(block):
    (taken,) = take(block, {"f.csv": b"a,b\n1,2\n"})
    assert "no form" in taken.refused
    (taken,) = take(block, {"f.csv": b"\xff\xfe\x00"})
    assert "UTF-8" in taken.refused


def test_the_log_names_no_people_and_no_places(block, phone):
    take(block, {"a.handover.zip": phone.pack(), "b.handover.zip": phone.pack(key=None)})
    text = "\n".join(log(block))
    assert "M. T." not in text
    assert str(json.dumps(phone.records[0]["where"]["lat"]))[:7] not in text
