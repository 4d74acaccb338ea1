"""What one person gets of what the shed holds."""

import json
from datetime import UTC, datetime, timedelta

import pytest

from fieldapp.record import encode_track, stamp
from sync.block import Person
from sync.flags.raised import flags_of
from sync.intake.check import check_lines
from sync.report.mine import Holdings, own_lines

MADE_AT = datetime(2026, 3, 1, tzinfo=UTC)
ARRIVED = "2026-02-28T20:00:00.000Z"
AT = datetime(2026, 2, 15, 20, tzinfo=UTC)


def told(made, phones, person, **changes):
    lines = [json.dumps(one).encode() for phone in phones for one in phone.kept]
    checked = check_lines(lines, file="made-up", sealed=True)
    register = made.small_register(known=checked.sound, **changes)
    holdings = Holdings(checked.sound, checked.aside, {
        (one.name, one.total): ARRIVED for one in checked.sound})
    return own_lines(register, flags_of(register), holdings, person, made_at=MADE_AT)


def outing(phone, person, x, y, *, bags=2):
    """START, a track of three fixes, some bags, END."""
    lat, lon = phone.place(x, y)
    fixes = [(AT + timedelta(seconds=10 * i), lat + i * 1e-5, lon, 4.0) for i in range(3)]
    phone.note("outing", AT, person, state="start", role="picker", where=None)
    phone.note("track", AT + timedelta(minutes=1), person, where=None, **encode_track(fixes))
    for i in range(bags):
        phone.note("bag", AT + timedelta(minutes=10 + i), person, bags=1,
                   where={"lat": lat, "lon": lon, "acc_m": 4, "age_s": 1})
    phone.note("outing", AT + timedelta(hours=5), person, state="end", finished=[], where=None)


@pytest.fixture
def two(made):
    """Two people, a phone each, in two corners of the block."""
    one, other = made.Phone("p1-a2b3"), made.Phone("p2-c3d4")
    one.place = other.place = made.latlon
    outing(one, "MT", 20, 20)
    outing(other, "RK", 250, 250, bags=3)
    return one, other


def test_a_person_gets_each_record_as_received_with_its_arrival(made, two):
    head, *lines = told(made, two, "MT")

    assert [one["record"] for one in lines] == two[0].kept
    assert {one["arrived"] for one in lines} == {ARRIVED}
    assert {one["counts"] for one in lines} == {True}
    assert head["counts"] == {
        "records": {"bag": 2, "outing": 2, "track": 1}, "points": 3, "bags": 2}
    assert head["outings"] == [{
        "device": "p1-a2b3", "role": "picker", "from": stamp(AT),
        "to": stamp(AT + timedelta(hours=5)), "records": ["p1-a2b3:1", "p1-a2b3:5"]}]
    assert (head["mine"], head["person"], head["block"]["id"]) == (1, "MT", "testmire")


def test_nothing_of_anybody_else_is_told(made, two):
    one, other = two
    one.note("bag", AT + timedelta(hours=1), "RK", bags=1, where=made.where(255, 255))

    text = json.dumps(told(made, two, "MT"))

    assert "RK" not in text
    assert other.device not in text
    assert f"{one.device}:6" not in text
    for x, y in ((250, 250), (255, 255)):
        assert str(made.latlon(x, y)[0]) not in text
        assert str(round(made.latlon(x, y)[0] * 1e7)) not in text
    theirs = json.dumps(told(made, two, "RK"))
    assert "MT" not in theirs
    assert str(round(made.latlon(250, 250)[0] * 1e7)) in theirs


def test_what_was_taken_back_is_told_as_such_and_bags_noted_by_another_count(made, two):
    one, other = two
    one.note("void", AT + timedelta(hours=1), "MT", of="p1-a2b3:3", where=None)
    other.note("bag", AT + timedelta(hours=1), "RK", bags=4, where=None, **{"for": "MT"})

    head, *lines = told(made, two, "MT")

    assert {one["record"]["seq"]: one["counts"] for one in lines} == {
        1: True, 2: True, 3: False, 4: True, 5: True, 6: None}
    assert head["counts"]["bags"] == 5
    assert "for" not in json.dumps(lines)


def test_a_flag_is_told_by_its_sentence_and_the_persons_own_records_alone(made):
    phones = made.season()
    phones[1].note("bag", datetime(2026, 1, 22, 20, tzinfo=UTC), "RK", bags=2,
                   where=made.where(130, 130))

    head, *_ = told(made, phones, "RK")
    theirs, *_ = told(made, phones, "MT")

    early = {one["flag"]: one for one in head["flags"]}["early_pick:B02:2025"]
    assert early["records"] == [f"p2-c3d4:{len(phones[1].kept)}"]
    assert early["why"].startswith("B02 rests until")
    mine = {one["flag"]: one for one in theirs["flags"]}["early_pick:B02:2025"]
    assert set(mine["records"]).isdisjoint(early["records"])
    assert mine["why"] == early["why"]


def test_letters_of_a_phone_without_a_sheet_are_the_persons(made, two):
    strange = made.Phone("x-k7f2")
    strange.note("bag", AT, "A", bags=1, where=None)
    strange.note("bag", AT, "MT", bags=2, where=None)
    people = (Person("MT", "M. T.", "M.T.", "picker", also=("x-k7f2:A",)),
              Person("RK", "R. K.", "R.K.", "picker", also=("x-k7f2:MT",)))

    _, *lines = told(made, [*two, strange], "MT", people=people)

    assert [one["record"]["bags"] for one in lines
            if one["record"]["device"] == "x-k7f2"] == [1]


def test_both_contents_of_a_number_given_twice_are_told_and_one_counts(made, two):
    other = made.Phone("p1-a2b3")
    other.kept = [dict(two[0].kept[2], bags=7)]

    _, *lines = told(made, [*two, other], "MT")

    assert sorted((one["record"]["bags"], one["counts"]) for one in lines
                  if one["record"]["seq"] == 3)[0][0] == 1
    assert sum(one["counts"] for one in lines if one["record"]["seq"] == 3) == 1


def test_what_waits_to_be_mended_is_told_with_the_reason(made, two):
    two[0].note("bag", AT, "MT", bags=0.3, where=None)
    two[1].note("bag", AT, "RK", bags=0.7, where=None)

    *_, last = told(made, two, "MT")

    assert json.loads(last["waits"])["bags"] == 0.3
    assert last["field"] == "bags"
    assert "0.7" not in json.dumps(told(made, two, "MT"))
