import dataclasses
import hashlib
import io
import json
import stat
import zipfile
import zlib
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldapp.handover import (
    Handover,
    HandoverError,
    expected_seqs,
    manifest_json,
    pack,
    seal_fits,
    seal_of,
    unpack,
)
from fieldapp.handover.zips import write_zip
from fieldapp.record import RecordError, canonical

KEY = bytes(range(32))
MADE = datetime(2026, 1, 21, 4, tzinfo=UTC)
PHOTO = b"\xff\xd8 not much of a picture \xff\xd9"


def bag(seq, **fields):
    return {"at": "2026-01-20T19:10:00.000Z", "bags": 1, "device": "p3-k7f2", "kind": "bag",
            "person": "MT", "seq": seq, "where": None, **fields}


def packed(seqs=(1, 2, 3), **changes):
    told = {"device": "p3-k7f2", "block": "km7q2x4a", "program": "0.1.0", "made_at": MADE,
            "first_seq": 1, "last_seq": max(seqs, default=1), "key": KEY,
            "photos": {"p3-k7f2-1.jpg": PHOTO}, **changes}
    return pack([bag(seq) for seq in seqs], **told)


def rebuilt(data, *, change=lambda manifest: None, lines=None, key=KEY, **entries):
    """The same file with another manifest, lines or entries, sealed and summed anew."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        content = {name: archive.read(name) for name in archive.namelist()}
    manifest = json.loads(content["manifest.json"])
    if lines is not None:
        content["records.ndjson"] = b"".join(line + b"\n" for line in lines)
        manifest["count"] = len(lines)
    manifest["records_sha256"] = hashlib.sha256(content["records.ndjson"]).hexdigest()
    change(manifest)
    manifest["seal"] = None if key is None else seal_of(manifest, key)
    content["manifest.json"] = json.dumps(manifest).encode()
    return write_zip({**content, **entries})


def zipped(*entries, **options):
    """A zip as another program would write it, traps and all."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", **options) as archive:
        for name, content in entries:
            archive.writestr(name, content)
    return target.getvalue()


def content_of(data):
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return [(name, archive.read(name)) for name in archive.namelist()]


def refusal(data):
    with pytest.raises(HandoverError) as told:
        unpack(data)
    assert "\n" not in str(told.value)
    assert len(str(told.value)) < 300
    return str(told.value)


# --- what is packed comes out


def test_what_is_packed_comes_out_and_its_seal_fits():
    handover = unpack(packed())

    assert isinstance(handover, Handover)
    assert handover.lines == tuple(canonical(bag(seq)) for seq in (1, 2, 3))
    assert dict(handover.photos) == {"p3-k7f2-1.jpg": PHOTO}
    assert handover.bad_photos == ()
    assert handover.manifest.made_at == MADE
    assert seal_fits(handover.manifest, KEY)
    assert not seal_fits(handover.manifest, KEY[::-1])


def test_the_same_records_give_the_same_bytes():
    assert packed() == packed()
    assert packed() != packed(made_at=MADE.replace(hour=5))


def test_a_file_without_a_key_is_unsealed_and_fits_no_key():
    manifest = unpack(packed(key=None)).manifest

    assert manifest.seal is None
    assert not seal_fits(manifest, KEY)
    assert not seal_fits(manifest, b"")


def test_the_reference_manifest_has_its_sum_and_seal():
    place = {"acc_m": 4, "age_s": 1, "lag_s": 0.2, "lat": -42.8571, "lon": 169.6941}
    common = {"device": "p3-k7f2", "person": "MT", "where": place}
    records = [
        {"at": "2026-01-20T18:40:00.000Z", "cell": "C07", "kind": "outing", "role": "picker",
         "seq": 1, "state": "start",
         "sheet": {"id": "0a1b2c3d", "made_at": "2026-01-20T05:00:00.000Z"}},
        {"acc_m": [4, 255], "at": "2026-01-20T18:41:00.000Z", "dt_ms": [0, 5000], "kind": "track",
         "lag_s": 0.2, "lat_e7": [-428571000, 12], "lon_e7": [1696941000, -7], "seq": 2,
         "t0": "2026-01-20T18:40:00.000Z", "where": None},
        {"at": "2026-01-20T19:10:00.000Z", "bags": 1, "kind": "bag", "press_ms": 140, "seq": 3},
        {"at": "2026-01-20T19:30:00.000Z", "bags": 0.5, "for": "DW", "kind": "bag",
         "pile": "P3-6", "seq": 4},
        {"at": "2026-01-20T19:50:00.000Z", "bags": 1.0, "kind": "bag", "seq": 5},
        {"at": "2026-01-20T19:50:09.000Z", "kind": "void", "of": "p3-k7f2:5", "seq": 6},
        {"at": "2026-01-20T19:50:30.000Z", "kind": "void", "of": "p3-k7f2:6", "seq": 7},
        {"at": "2026-01-21T03:00:00.000Z", "finished": ["C07"], "kind": "outing", "seq": 8,
         "state": "end"},
    ]

    data = pack([{**common, **record} for record in records], device="p3-k7f2", block="km7q2x4a",
                program="0.1.0", made_at=MADE, first_seq=1, last_seq=8, key=KEY, photos={})
    manifest = unpack(data).manifest

    # The contract's own example of these eight records, sealed with the bytes 0 to 31.
    assert manifest.records_sha256 == (
        "37435d515c36e5b93b0104039b97392092e0660420958fe9aacf117fe3100254")
    assert manifest.seal == "3ea8eb62309fd7a880757e4d3889ca68f106c29142caa0e28fb251e901961eb7"


def test_the_phone_admits_its_own_holes():
    manifest = unpack(packed((3, 4, 7, 9), first_seq=2, last_seq=12)).manifest

    assert manifest.missing == ((2, 2), (5, 6), (8, 8), (10, 12))
    assert expected_seqs(manifest) == (range(3, 5), range(7, 8), range(9, 10))


def test_a_file_with_nothing_new_says_so():
    manifest = unpack(packed((), first_seq=9, last_seq=8, photos={})).manifest

    assert (manifest.first_seq, manifest.last_seq, manifest.count) == (9, 8, 0)
    assert expected_seqs(manifest) == ()


def test_the_seal_covers_fields_this_program_does_not_know():
    data = rebuilt(packed(), change=lambda manifest: manifest.update(colour="green"))
    manifest = unpack(data).manifest

    assert dict(manifest.unknown) == {"colour": "green"}
    assert seal_fits(manifest, KEY)
    assert not seal_fits(dataclasses.replace(manifest, unknown={"colour": "red"}), KEY)


@pytest.mark.parametrize("field", [
    "device", "block", "program", "made_at", "first_seq", "last_seq", "count", "missing",
    "records_sha256", "photos"])
def test_the_seal_covers_every_field(field):
    manifest = manifest_json(unpack(packed()).manifest)

    assert seal_of({**manifest, field: "changed"}, KEY) != manifest["seal"]


@pytest.mark.parametrize("changes", [
    {"seqs": (1, 1)}, {"seqs": (2, 1)}, {"seqs": (1, 2), "last_seq": 1}, {"first_seq": 2},
    {"device": "p4-aaaa"}, {"device": "P4"}, {"first_seq": 0}, {"first_seq": 5, "last_seq": 3},
    {"photos": {"../a.jpg": b""}}])
def test_what_makes_no_hand_over_is_our_own_mistake(changes):
    with pytest.raises(RecordError):
        packed(**changes)


# --- traps


def test_a_file_that_is_no_zip_is_refused():
    for data in (b"", b"hello", b"PK", packed()[:200], packed()[:-1], b"PK\x05\x06" + bytes(10)):
        assert "copy it again" in refusal(data)


@pytest.mark.parametrize("name", [
    "../manifest.json", "/manifest.json", "photos/../../x.jpg", "a\\b.jpg", "C:x.jpg",
    "photos//x.jpg", "./records.ndjson", "photos/a\x00b.jpg"])
def test_a_path_in_a_name_is_refused(name):
    # An entry's name is written by hand, since the library would mend it.
    plain = "q" * len(name)
    data = zipped((plain, b"x")).replace(plain.encode(), name.encode())

    assert "leads elsewhere" in refusal(data)


@pytest.mark.parametrize("kind", [stat.S_IFLNK, stat.S_IFIFO, stat.S_IFDIR, stat.S_IFCHR])
def test_a_link_or_device_is_refused(kind):
    info = zipfile.ZipInfo("records.ndjson")
    info.external_attr = (kind | 0o777) << 16

    assert "is a link" in refusal(zipped((info, b"/etc/passwd")))


def test_a_doubled_name_or_one_alike_but_for_case_is_refused():
    double = zipped(("manifest.json", b"{}"), ("manifest.jsom", b"{}"))

    assert "twice" in refusal(double.replace(b"manifest.jsom", b"manifest.json"))
    assert "twice" in refusal(zipped(("manifest.json", b"{}"), ("Manifest.json", b"{}")))


def test_an_unknown_entry_is_refused():
    for name in ("readme.txt", "photos/a.png", "photos/sub/a.jpg", "records.ndjson.bak"):
        data = zipped(*content_of(packed()), (name, b"x"))

        assert "no part of a hand-over" in refusal(data)


def test_a_locked_file_is_refused():
    data = bytearray(packed())
    for at in (data.index(b"PK\x03\x04") + 6, data.index(b"PK\x01\x02") + 8):
        data[at] |= 1

    assert "password" in refusal(bytes(data))


def test_an_odd_way_of_packing_is_refused():
    assert "unknown way" in refusal(zipped(*content_of(packed()), compression=zipfile.ZIP_BZIP2))


def test_a_file_packed_again_by_another_program_is_taken():
    again = zipped(*content_of(packed())[::-1], compression=zipfile.ZIP_DEFLATED)

    assert unpack(again) == unpack(packed())


def test_a_bomb_is_refused_while_it_unpacks():
    bomb = zipped(("records.ndjson", bytes(50_000_000)), compression=zipfile.ZIP_DEFLATED)

    assert len(bomb) < 100_000
    assert "far more than its size" in refusal(bomb)


def test_a_bomb_that_lies_about_its_size_is_refused():
    bomb = zipped(("records.ndjson", bytes(50_000_000)), compression=zipfile.ZIP_DEFLATED)
    lying = bomb.replace((50_000_000).to_bytes(4, "little"), (50).to_bytes(4, "little"))

    assert lying != bomb
    refusal(lying)


def test_more_than_a_thousand_entries_are_refused():
    data = zipped(*((f"photos/{n}.jpg", b"") for n in range(1001)))

    assert "1000 entries" in refusal(data)


def test_a_flipped_byte_in_the_records_is_refused():
    data = packed()
    at = data.index(b'"bags":1') + 7

    assert "damaged" in refusal(data[:at] + b"2" + data[at + 1:])


def test_records_whose_sum_does_not_match_are_refused_though_the_zip_is_sound():
    with zipfile.ZipFile(io.BytesIO(packed())) as archive:
        content = {name: archive.read(name) for name in archive.namelist()}
    content["records.ndjson"] = content["records.ndjson"].replace(b'"bags":1', b'"bags":2', 1)

    assert "sum of the records" in refusal(write_zip(content))


@pytest.mark.parametrize("missing", ["manifest.json", "records.ndjson"])
def test_a_file_without_one_of_its_parts_is_refused(missing):
    parts = [entry for entry in content_of(packed()) if entry[0] != missing]

    assert f"no {missing}" in refusal(zipped(*parts))


@pytest.mark.parametrize(("field", "value"), [
    ("handover", 2), ("handover", True), ("device", "p3"), ("device", None), ("block", 3),
    ("program", None), ("made_at", "2026-01-21"), ("first_seq", 0), ("first_seq", "1"),
    ("first_seq", 9), ("last_seq", 2**53), ("last_seq", True), ("count", -1), ("count", 4),
    ("missing", None), ("missing", [[3, 2]]), ("missing", [[1]]), ("missing", [[1, 2], [2, 3]]),
    ("missing", [[3, 4]]), ("records_sha256", "00"), ("photos", []), ("photos", {"a.png": "00"}),
    ("photos", {"a.jpg": "00"}), ("device", "shed")])
def test_a_manifest_of_a_wrong_shape_is_refused(field, value):
    told = refusal(rebuilt(packed(), change=lambda manifest: manifest.update({field: value})))

    assert field in told


@pytest.mark.parametrize("field", [
    "handover", "device", "block", "program", "made_at", "first_seq", "last_seq", "count",
    "missing", "records_sha256", "photos"])
def test_a_manifest_that_lacks_a_field_is_refused(field):
    assert field in refusal(rebuilt(packed(), change=lambda manifest: manifest.pop(field)))


@pytest.mark.parametrize("manifest", [
    b"", b"[]", b'{"handover":1,"handover":1}', b'{"handover":NaN}', b'{"block":"\\ud800"}',
    b'{"seal":' + b"[" * 5000, b"\xff"])
def test_a_manifest_that_cannot_be_read_is_refused(manifest):
    assert "manifest.json" in refusal(write_zip({"manifest.json": manifest,
                                                 "records.ndjson": b""}))


def test_a_count_that_does_not_match_is_refused():
    data = rebuilt(packed(), change=lambda manifest: manifest.update(count=2))

    assert "holds 3 records and its manifest says 2" in refusal(data)


@pytest.mark.parametrize(("seqs", "told"), [
    ((1, 3, 2), "line 3 has number 2"), ((1, 2, 2), "line 3 has number 2"),
    ((1, 2, 4), "line 3 has number 4")])
def test_numbers_out_of_order_or_span_are_refused(seqs, told):
    assert told in refusal(rebuilt(packed(), lines=[canonical(bag(seq)) for seq in seqs]))


def test_a_line_of_another_device_is_refused():
    lines = [canonical(bag(1)), canonical(bag(2, device="shed"))]

    assert "line 2 is of device 'shed'" in refusal(rebuilt(packed(), lines=lines))


@pytest.mark.parametrize("line", [
    b'{"seq":1,"seq":2}', b'{"note":"\\udc00"}', b'{"a":[{"b":1,"b":1}]}'])
def test_a_line_that_reads_in_two_ways_refuses_the_file_whole(line):
    assert "line 2" in refusal(rebuilt(packed(), lines=[canonical(bag(1)), line]))


def test_lines_that_are_no_records_stay_for_the_reader_to_set_aside():
    odd = [b"{", b"[]", b"", b'{"seq":NaN}', b'{"seq":9007199254740992}', b'{"seq":"2"}', b"\xff"]
    lines = [canonical(bag(1)), *odd, canonical(bag(9))]

    handover = unpack(rebuilt(packed((1, 9)), lines=lines))

    assert handover.lines == tuple(lines)


def test_a_bad_photo_is_set_aside_alone():
    good = packed(photos={"a.jpg": PHOTO, "b.jpg": PHOTO, "c.jpg": PHOTO})
    flipped = bytearray(good)
    flipped[good.index(PHOTO)] ^= 1
    other = rebuilt(good, **{"photos/b.jpg": b"another", "photos/d.jpg": b"not named"})
    parts = [entry for entry in content_of(good) if entry[0] != "photos/c.jpg"]

    assert unpack(bytes(flipped)).bad_photos == (
        ("a.jpg", "its bytes are damaged: copy it again"),)
    assert unpack(other).bad_photos == (
        ("b.jpg", "its sum does not match the manifest"),
        ("d.jpg", "is in the file and not in the manifest"))
    assert unpack(zipped(*parts)).bad_photos == (
        ("c.jpg", "is in the manifest and not in the file"),)
    assert unpack(zipped(*parts)).lines == unpack(good).lines


# --- damage of any kind never passes for another content

WHOLE = packed(photos={"a.jpg": PHOTO})
SQUEEZED = zipped(*content_of(WHOLE), compression=zipfile.ZIP_DEFLATED)


def same_or_refused(data, whole):
    try:
        read = unpack(data)
    except HandoverError:
        return
    assert (read.manifest, read.lines) == (whole.manifest, whole.lines)
    good = dict(read.photos)
    assert good.items() <= dict(whole.photos).items()
    assert {*good, *(name for name, _ in read.bad_photos)} >= set(whole.photos)


@pytest.mark.parametrize("data", [WHOLE, SQUEEZED], ids=["stored", "deflated"])
@settings(max_examples=400, deadline=None)
@given(flips=st.lists(st.tuples(st.integers(0, 10**6), st.integers(1, 255)), max_size=4),
       cut=st.none() | st.integers(0, 10**6), tail=st.binary(max_size=8))
def test_flips_cuts_and_tails_never_pass_for_another_content(data, flips, cut, tail):
    whole = unpack(data)
    broken = bytearray(data)
    for at, bits in flips:
        broken[at % len(broken)] ^= bits
    if cut is not None:
        del broken[cut % (len(broken) + 1):]

    same_or_refused(bytes(broken) + tail, whole)


@pytest.mark.parametrize("data", [WHOLE, SQUEEZED], ids=["stored", "deflated"])
def test_no_single_bit_anywhere_passes_for_another_content(data):
    whole = unpack(data)
    for at in range(len(data)):
        for bit in range(8):
            broken = bytearray(data)
            broken[at] ^= 1 << bit
            same_or_refused(bytes(broken), whole)


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=200), st.sampled_from([b"", b"PK\x03\x04", WHOLE[:64], WHOLE[-120:]]))
def test_no_bytes_make_the_reader_itself_fail(data, head):
    for candidate in (data, head + data, data + head):
        with pytest.raises(HandoverError):
            unpack(candidate)


def test_a_damaged_stream_is_told_as_damage():
    data = bytearray(SQUEEZED)
    body = zlib.compress(b"")  # any stream: its header does not stand in a zip
    at = data.index(b"records.ndjson") + len("records.ndjson")
    data[at:at + len(body)] = body

    assert "damaged" in refusal(bytes(data))
