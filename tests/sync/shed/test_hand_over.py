"""Handing over by Wi-Fi: what is acknowledged is on disk, and asking twice changes nothing."""

import hashlib
import sqlite3

from running_shed import ask, ask_json, picked, session, upload


def opened(port, phone):
    return session(port, device=phone.device, block=phone.block, key=phone.key)


def names_in(folder):
    with sqlite3.connect(folder / "journal.sqlite") as db:
        return [name for (name,) in db.execute("SELECT name FROM record ORDER BY name")]


def test_a_hand_over_is_acknowledged_by_its_numbers(small, open_here):
    block = small()
    phone = picked(block)
    shed = open_here(block.folder)
    began = opened(shed.port, phone)

    assert began.json["held"] == []

    taken = upload(shed.port, began.json["token"], phone.pack())

    assert taken.json["taken"] == {"new": 32, "known": 0, "aside": 0}
    assert taken.json["held"] == [[1, 32]]
    assert len(names_in(block.folder)) == 32


def test_the_same_file_twice_changes_nothing(small, open_here):
    block = small()
    phone = picked(block)
    shed = open_here(block.folder)
    token = opened(shed.port, phone).json["token"]
    upload(shed.port, token, phone.pack())
    before = names_in(block.folder)

    again = upload(shed.port, token, phone.pack())

    assert again.json["taken"] == {"new": 0, "known": 32, "aside": 0}
    assert names_in(block.folder) == before


def test_an_upload_goes_on_where_it_was_cut(small, open_here):
    block = small()
    phone = picked(block)
    shed = open_here(block.folder)
    token = opened(shed.port, phone).json["token"]
    data = phone.pack()
    upload(shed.port, token, data, part=1000, most_parts=3)

    again = ask_json(shed.port, "/phone/uploads",
                     {"sha256": hashlib.sha256(data).hexdigest(), "size": len(data)}, token)

    assert again.json["have"] == 3000
    assert upload(shed.port, token, data).json["held"] == [[1, 32]]


def test_bytes_that_do_not_go_on_are_refused_and_told_from_where(small, open_here):
    block = small()
    phone = picked(block)
    shed = open_here(block.folder)
    token = opened(shed.port, phone).json["token"]
    data = phone.pack()
    upload(shed.port, token, data, part=1000, most_parts=2)
    path = f"/phone/uploads/{hashlib.sha256(data).hexdigest()}"
    heads = {"Authorization": f"Bearer {token}", "X-From": "500"}

    refused = ask(shed.port, "PUT", path, b"x" * 10, heads)

    assert refused.status == 409
    assert refused.json["code"] == "not_so"
    assert refused.json["have"] == 2000


def test_whole_bytes_of_another_sum_begin_anew(small, open_here):
    block = small()
    phone = picked(block)
    shed = open_here(block.folder)
    token = opened(shed.port, phone).json["token"]
    data = phone.pack()
    total = hashlib.sha256(data).hexdigest()
    ask_json(shed.port, "/phone/uploads", {"sha256": total, "size": len(data)}, token)
    wrong = data[:-1] + bytes([data[-1] ^ 1])

    refused = ask(shed.port, "PUT", f"/phone/uploads/{total}", wrong,
                  {"Authorization": f"Bearer {token}", "X-From": "0"})

    assert (refused.status, refused.json["have"]) == (409, 0)
    assert names_in(block.folder) == []
    assert upload(shed.port, token, data).json["held"] == [[1, 32]]


def test_a_hole_is_not_acknowledged(small, open_here):
    block = small()
    phone = picked(block)
    shed = open_here(block.folder)
    token = opened(shed.port, phone).json["token"]

    upload(shed.port, token, phone.pack(1, 10))
    last = upload(shed.port, token, phone.pack(20, 32))

    assert last.json["held"] == [[1, 10], [20, 32]]


def test_the_sheet_comes_after_what_was_just_taken(small, open_here):
    from fieldapp.ground import unpack_sheet

    block = small()
    phone = picked(block)
    shed = open_here(block.folder)
    token = opened(shed.port, phone).json["token"]
    upload(shed.port, token, phone.pack())

    answer = ask(shed.port, "GET", "/phone/sheet", None, {"Authorization": f"Bearer {token}"},
                 timeout=90)

    sheet = unpack_sheet(answer.body, key=phone.key)
    assert sheet.for_phone == "p1"
    assert sheet.held_by(phone.device) == ((1, 32),)


def test_what_only_an_unsealed_file_brought_is_not_acknowledged(small, open_here):
    block = small()
    phone = picked(block)
    stranger = type(phone)(phone.device, block.block.block_id, None, list(phone.records))
    block.take({"odd.handover.zip": stranger.pack(key=None)}, unsealed=True)
    shed = open_here(block.folder)

    assert opened(shed.port, phone).json["held"] == []


def test_a_refused_file_says_why_and_is_forgotten(small, open_here):
    block, other = small(), small("other", block_id="otherblk")
    phone = picked(block)
    foreign = picked(other)
    shed = open_here(block.folder)
    token = opened(shed.port, phone).json["token"]

    refused = upload(shed.port, token, foreign.pack())

    assert refused.status == 422
    assert "another block" in refused.json["refused"]
    assert list((block.folder / "incoming").iterdir()) == []
