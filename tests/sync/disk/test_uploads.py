import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.disk.uploads import (
    OffsetError,
    Upload,
    add_part,
    begin_upload,
    finish_upload,
    known_upload,
)
from sync.errors import IntakeError

DATA = bytes(range(256)) * 20


def upload_of(data=DATA, device="p1-aaaa"):
    return Upload(device, hashlib.sha256(data).hexdigest(), len(data))


def test_parts_add_up_to_the_file(tmp_path):
    upload = upload_of()

    assert begin_upload(tmp_path, upload) == 0
    assert add_part(tmp_path, upload, 0, DATA[:1000]) == 1000
    assert begin_upload(tmp_path, upload) == 1000
    assert add_part(tmp_path, upload, 1000, DATA[1000:]) == len(DATA)

    path = finish_upload(tmp_path, upload)

    assert path.read_bytes() == DATA
    assert path.name == f"p1-aaaa-{upload.sha256[:8]}.handover.zip"
    assert known_upload(tmp_path, upload.device, upload.sha256) is None


@pytest.mark.parametrize("offset", [0, 999, 1001])
def test_a_part_that_does_not_go_on_changes_nothing(tmp_path, offset):
    upload = upload_of()
    begin_upload(tmp_path, upload)
    add_part(tmp_path, upload, 0, DATA[:1000])

    with pytest.raises(OffsetError) as wrong:
        add_part(tmp_path, upload, offset, b"x")

    assert wrong.value.have == 1000
    assert begin_upload(tmp_path, upload) == 1000


def test_more_than_was_announced_is_not_taken(tmp_path):
    upload = upload_of()
    begin_upload(tmp_path, upload)

    with pytest.raises(OffsetError):
        add_part(tmp_path, upload, 0, DATA + b"x")


def test_a_file_that_is_not_whole_is_not_finished(tmp_path):
    upload = upload_of()
    begin_upload(tmp_path, upload)
    add_part(tmp_path, upload, 0, DATA[:5])

    with pytest.raises(OffsetError) as wrong:
        finish_upload(tmp_path, upload)

    assert wrong.value.have == 5


def test_another_sum_begins_anew(tmp_path):
    upload = upload_of()
    begin_upload(tmp_path, upload)
    add_part(tmp_path, upload, 0, b"\0" * len(DATA))

    with pytest.raises(OffsetError) as wrong:
        finish_upload(tmp_path, upload)

    assert wrong.value.have == 0
    assert begin_upload(tmp_path, upload) == 0


def test_a_device_has_one_upload_at_a_time_and_leaves_others_alone(tmp_path):
    mine, other = upload_of(), upload_of(device="p2-bbbb")
    for one in (mine, other):
        begin_upload(tmp_path, one)
        add_part(tmp_path, one, 0, DATA[:10])

    newer = upload_of(DATA + b"more")
    begin_upload(tmp_path, newer)

    assert known_upload(tmp_path, mine.device, mine.sha256) is None
    assert begin_upload(tmp_path, other) == 10


@pytest.mark.parametrize("upload", [
    Upload("../p1", "ab" * 32, 5), Upload("p1-aaaa", "../" + "ab" * 31, 5),
    Upload("p1-aaaa", "ab" * 32, 0), Upload("p1-aaaa", "ab" * 32, -1),
    Upload("p1-aaaa", "ab" * 32, 10_000_000_000), Upload("*", "ab" * 32, 5)])
def test_what_can_be_no_hand_over_is_refused(tmp_path, upload):
    with pytest.raises(IntakeError):
        begin_upload(tmp_path, upload)
    assert not list(tmp_path.rglob("*.part"))


@given(st.lists(st.tuples(st.integers(-5, 60), st.integers(1, 25)), max_size=30))
def test_whatever_offsets_come_what_is_kept_is_the_beginning_of_the_file(tmp_path_factory, steps):
    folder, data = tmp_path_factory.mktemp("uploads"), DATA[:50]
    upload = upload_of(data)
    have = begin_upload(folder, upload)
    for offset, length in steps:
        part = data[max(0, offset):max(0, offset) + length]
        if offset == have and offset + len(part) <= len(data):
            have = add_part(folder, upload, offset, part)
        else:
            with pytest.raises(OffsetError):
                add_part(folder, upload, offset, part)

    kept = next((folder / "incoming").glob("*.part")).read_bytes()
    assert kept == data[:have]
