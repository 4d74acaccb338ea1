import json
from datetime import UTC, date, datetime, timedelta

import pytest

from fieldapp.record import instant, name_of, stamp, sum_of
from sync.intake.check import Aside, Held, check_line
from sync.intake.merge import merge

ZONE = "Pacific/Auckland"
T0 = datetime(2026, 1, 20, 18, 0, tzinfo=UTC)
HERE = {"lat": -42.8571, "lon": 169.6941, "age_s": 1}
THERE = {"lat": -42.8600, "lon": 169.7000, "age_s": 1}
P3 = "p3-k7f2"


def received(merged):
    """The numbers received of each device."""
    return {device: list(each) for device, each in merged.numbers.items()}


def a(seq, kind="bag", *, device=P3, **fields):
    own = {"bag": {"bags": 1}, "mark": {"what": "peg", "name": "1"}}.get(kind, {})
    return {"device": device, "seq": seq, "kind": kind, "person": "MT", "where": HERE,
            "at": stamp(T0 + timedelta(minutes=seq)), **own, **fields}


def void(seq, of, **fields):
    return a(seq, "void", of=of, **fields)


def shed(seq, kind="bag", **fields):
    return a(seq, kind, **{"device": "shed", "person": "O", "where": None,
                           "at": stamp(T0 + timedelta(days=seq)), **fields})


def held(record, *, sealed=True):
    """Through the check at the door, as everything the merge ever sees."""
    line = json.dumps(record).encode()
    found = check_line(line, file="f", number=1, sealed=sealed)
    assert isinstance(found, Held), found
    return found


def set_aside(record, *, promised=None):
    line = record if isinstance(record, bytes) else json.dumps(record).encode()
    found = check_line(line, file="f", number=1, sealed=True, promised=promised)
    assert isinstance(found, Aside), found
    return found


def merged(*records, aside=(), zone=ZONE, aliases=None):
    return merge([one if isinstance(one, Held) else held(one) for one in records], aside,
                 zone=zone, clock_off_s=120.0, aliases=aliases)


def names(result):
    return [one.name for one in result.counted]


def only(result):
    (one,) = result.counted
    return one


def test_a_void_takes_away_what_it_names_and_counts_for_nothing_itself():
    assert names(merged(a(1), a(2), void(3, f"{P3}:1"))) == [f"{P3}:2"]


def test_a_void_of_a_void_puts_back():
    records = [a(1), void(2, f"{P3}:1"), void(3, f"{P3}:2")]
    assert names(merged(*records)) == [f"{P3}:1"]
    assert names(merged(*records, void(4, f"{P3}:3"))) == []


def test_a_void_of_what_never_came_takes_nothing_away():
    assert names(merged(a(2), void(3, f"{P3}:1"))) == [f"{P3}:2"]


def test_a_replacement_takes_the_first_ones_time_place_and_person():
    mend = a(2, bags=3, instead_of=f"{P3}:1", person="SW", where=THERE)
    one = only(merged(a(1), mend))
    assert (one.name, one.record["bags"], one.record["person"]) == (f"{P3}:2", 3, "SW")
    assert (one.seq, one.person, one.at) == (1, "MT", T0 + timedelta(minutes=1))
    assert one.where is not None
    assert one.where.lat == HERE["lat"]


def test_a_replacement_of_a_record_without_a_place_has_none():
    assert only(merged(a(1, where=None), a(2, instead_of=f"{P3}:1"))).where is None


def test_voiding_a_replacement_brings_the_first_back():
    result = merged(a(1), a(2, bags=3, instead_of=f"{P3}:1"), void(3, f"{P3}:2"))
    assert (only(result).name, only(result).record["bags"]) == (f"{P3}:1", 1)


def test_of_two_that_stand_in_for_the_same_record_the_later_counts():
    records = [a(1), a(2, bags=2, instead_of=f"{P3}:1"), a(3, bags=3, instead_of=f"{P3}:1")]
    assert only(merged(*records)).record["bags"] == 3
    assert only(merged(*records, void(4, f"{P3}:3"))).record["bags"] == 2
    assert only(merged(*records, void(4, f"{P3}:3"), void(5, f"{P3}:2"))).record["bags"] == 1


def test_the_sheds_word_is_later_than_any_of_the_phones():
    records = [a(1), shed(1, bags=9, instead_of=f"{P3}:1"), a(2, bags=2, instead_of=f"{P3}:1")]
    assert only(merged(*records)).record["bags"] == 9


def test_2026_11_25_a_mend_of_a_mend_counts_once_and_is_dated_by_the_first():
    records = [a(1), a(2, bags=2, instead_of=f"{P3}:1"),
               shed(1, bags=3, instead_of=f"{P3}:2")]
    one = only(merged(*records))
    assert (one.record["bags"], one.seq, one.person) == (3, 1, "MT")
    assert one.at == T0 + timedelta(minutes=1)
    back = only(merged(*records, shed(2, "void", of="shed:1")))
    assert back.record["bags"] == 2, "voiding the last mend brings the one before back"


def test_2026_11_25_a_thing_mended_along_two_ways_counts_once():
    records = [a(1), a(2, bags=2, instead_of=f"{P3}:1"), a(3, bags=3, instead_of=f"{P3}:1"),
               a(4, bags=4, instead_of=f"{P3}:2")]
    assert only(merged(*records)).record["bags"] == 4


def test_voiding_a_link_of_a_chain_leaves_its_end_standing():
    records = [a(1), a(2, bags=2, instead_of=f"{P3}:1"), a(3, bags=3, instead_of=f"{P3}:2"),
               void(4, f"{P3}:2")]
    one = only(merged(*records))
    assert (one.record["bags"], one.seq) == (3, 1)


def test_voiding_what_was_mended_leaves_the_mend_standing():
    records = [a(1), a(2, bags=2, instead_of=f"{P3}:1"), void(3, f"{P3}:1")]
    assert only(merged(*records)).record["bags"] == 2


def test_2026_11_25_a_void_that_stands_in_for_a_void_takes_its_place():
    records = [a(1), a(2), shed(1, "void", of=f"{P3}:1"),
               shed(2, "void", of=f"{P3}:2", instead_of="shed:1")]
    assert names(merged(*records)) == [f"{P3}:1"]


def test_instead_of_stays_within_the_kind():
    result = merged(a(1), a(2, "mark", instead_of=f"{P3}:1"))
    assert names(result) == [f"{P3}:1", f"{P3}:2"]
    assert result.counted[1].at == T0 + timedelta(minutes=2)


def test_a_replacement_that_comes_first_is_dated_anew_when_the_first_comes():
    mend = shed(1, bags=3, instead_of=f"{P3}:1")
    assert only(merged(mend)).at == instant(mend["at"])
    assert only(merged(mend, a(1))).at == T0 + timedelta(minutes=1)


def test_the_shed_names_the_records_of_any_phone_and_its_own_lower_ones():
    records = [a(1), a(1, device="p1-a2b3"), shed(1, "void", of=f"{P3}:1"),
               shed(2, "void", of="p1-a2b3:1"), shed(3, "void", of="shed:2")]
    assert names(merged(*records)) == ["p1-a2b3:1"]


@pytest.mark.parametrize("field", ["of", "instead_of"])
@pytest.mark.parametrize("target", ["p3-k7f2:9", "p3-k7f2:10", "p1-a2b3:1", "shed:1"])
def test_a_phone_names_only_its_own_lower_numbers(field, target):
    record = void(9, target) if field == "of" else a(9, instead_of=target)
    assert set_aside(record).field == field


@pytest.mark.parametrize("target", ["shed:9", "shed:10"])
def test_the_shed_names_no_later_record_of_its_own(target):
    assert set_aside(shed(9, "void", of=target)).field == "of"


def test_of_two_contents_of_one_name_the_sealed_one_counts():
    one, two = a(1, bags=1), a(1, bags=2)
    for first, second in ((one, two), (two, one)):
        result = merged(held(first, sealed=False), held(second, sealed=True))
        assert only(result).record == second
        assert result.twice == {f"{P3}:1": tuple(sorted([sum_of(one), sum_of(two)]))}


def test_of_two_contents_equally_sealed_the_smaller_sum_counts():
    contents = [a(1, bags=bags) for bags in (1, 2, 3)]
    smallest = min(contents, key=sum_of)
    for sealed in (True, False):
        result = merged(*(held(one, sealed=sealed) for one in contents))
        assert only(result).record == smallest


def test_a_content_that_came_unsealed_and_later_sealed_is_sealed():
    one, two = sorted([a(1, bags=1), a(1, bags=2)], key=sum_of)
    result = merged(held(one, sealed=False), held(two, sealed=False), held(two, sealed=True))
    assert only(result).record == two


def test_a_void_in_the_content_that_does_not_count_voids_nothing():
    harmless, harmful = a(2, note="x"), void(2, f"{P3}:1")
    result = merged(a(1), held(harmful, sealed=False), held(harmless, sealed=True))
    assert names(result) == [f"{P3}:1", f"{P3}:2"]


PAPER = {"bags": 9, "cell": "K04", "covers": [P3, 3, 5]}


def test_a_paper_count_stands_until_any_record_of_its_hole_arrives():
    phone = [a(2), a(6)]
    assert names(merged(*phone, shed(1, **PAPER))) == [f"{P3}:2", f"{P3}:6", "shed:1"]
    for late in (3, 4, 5):
        assert "shed:1" not in names(merged(*phone, a(late), shed(1, **PAPER)))
    for outside in (1, 7):
        assert "shed:1" in names(merged(*phone, a(outside), shed(1, **PAPER)))


def test_a_paper_count_is_void_too_when_what_arrives_is_set_aside_or_voided():
    broken = set_aside(a(4, bags=77))
    assert names(merged(a(2), a(6), shed(1, **PAPER), aside=[broken])) == [f"{P3}:2", f"{P3}:6"]
    assert names(merged(a(2), a(4), void(6, f"{P3}:4"), shed(1, **PAPER))) == [f"{P3}:2"]


def test_a_paper_count_of_nothing_is_a_count():
    result = merged(a(2), a(6), shed(1, **{**PAPER, "bags": 0}))
    assert result.counted[-1].record["bags"] == 0


def test_a_record_set_aside_counts_as_received():
    result = merged(a(1), aside=[set_aside(a(2, bags=77)),
                                 set_aside(b"\x00garbage", promised=f"{P3}:3")])
    assert received(result) == {P3: [1, 2, 3]}
    assert names(result) == [f"{P3}:1"]


def test_2026_11_25_what_waits_may_come_as_an_iterator():
    result = merged(a(1), aside=iter([set_aside(a(2, bags=77))]))
    assert received(result) == {P3: [1, 2]}


def test_the_shed_mends_what_was_set_aside_and_takes_its_time_place_and_person():
    broken = set_aside(a(2, bags=77, person="SW", where=THERE))
    one = only(merged(shed(1, bags=7, instead_of=f"{P3}:2"), aside=[broken]))
    assert (one.name, one.record["bags"], one.device, one.seq) == ("shed:1", 7, P3, 2)
    assert (one.person, one.at) == ("SW", T0 + timedelta(minutes=2))
    assert one.where is not None
    assert one.where.lat == THERE["lat"]


def test_what_cannot_be_read_of_it_is_the_sheds_own():
    broken = set_aside(a(2, bags=77, person="Mr Smith", at="at noon", where="by the gate"))
    mend = shed(1, bags=7, instead_of=f"{P3}:2")
    one = only(merged(mend, aside=[broken]))
    assert (one.person, one.at, one.where) == ("O", instant(mend["at"]), None)


@pytest.mark.parametrize("line", [b"", b"null", b"[1]", b"{", b'{"at":NaN}', b"\xff\xfe",
                                  b"[" * 100_000, b'{"a":' * 5_000])
def test_a_line_that_is_no_record_is_mended_by_what_the_shed_says_alone(line):
    mend = shed(1, bags=7, instead_of=f"{P3}:2")
    one = only(merged(mend, aside=[set_aside(line, promised=f"{P3}:2")]))
    assert (one.person, one.at, one.device, one.seq) == ("O", instant(mend["at"]), P3, 2)


def test_2026_11_25_the_time_of_a_mended_line_is_mended_by_the_satellites_as_well():
    behind_s = -5_270_400.0
    broken = a(2, bags=77, at=stamp(T0 + timedelta(seconds=behind_s)))
    mend = shed(1, bags=7, instead_of=f"{P3}:2")
    own = set_aside({**broken, "where": {**HERE, "lag_s": behind_s}})
    assert only(merged(mend, aside=[own])).at == T0
    near = a(3, at=stamp(T0 + timedelta(seconds=behind_s)), where={**HERE, "lag_s": behind_s})
    assert {one.at for one in merged(mend, near, aside=[set_aside(broken)]).counted} == {T0}


def test_what_waits_moves_the_time_of_no_sound_record():
    lagging = set_aside(a(2, bags=77, where={**HERE, "lag_s": 9999.0}))
    result = merged(a(1), aside=[lagging])
    assert only(result).at == T0 + timedelta(minutes=1)
    assert len(result.times) == 1
    assert result.times[f"{P3}:1"] == T0 + timedelta(minutes=1)


@pytest.mark.parametrize("lag_s", [10**400, -10**400, float("inf"), float("nan")])
def test_2026_11_28_a_line_whose_clock_error_is_beyond_any_number_stops_no_register(lag_s):
    odd = set_aside(a(2, "track", lag_s=lag_s), promised=f"{P3}:2")
    mend = shed(1, bags=7, instead_of=f"{P3}:2")
    assert names(merged(a(1), mend, aside=[odd])) == [f"{P3}:1", "shed:1"]


@pytest.mark.parametrize("kind", [None, "Bag", 5, ["bag"], {}])
def test_2026_11_25_a_line_aside_for_its_kind_is_mended_as_the_shed_says(kind):
    device = {"device": "p3-k7f2"} if kind != "Bag" else {"device": "p3"}
    broken = set_aside({**a(2), **device, "kind": kind}, promised=f"{P3}:2")
    one = only(merged(shed(1, bags=7, instead_of=f"{P3}:2"), aside=[broken]))
    assert (one.seq, one.at) == (2, T0 + timedelta(minutes=2))


def test_a_line_aside_of_another_kind_is_not_mended():
    broken = set_aside(a(2, "mark", what="tree"))
    mend = shed(1, bags=7, instead_of=f"{P3}:2")
    assert only(merged(mend, aside=[broken])).at == instant(mend["at"])


def test_2026_11_25_mending_a_broken_mend_counts_the_thing_once():
    broken = set_aside(a(2, bags=77, instead_of=f"{P3}:1"))
    assert names(merged(a(1), aside=[broken])) == [f"{P3}:1"], "a broken mend mends nothing"
    one = only(merged(a(1), shed(1, bags=7, instead_of=f"{P3}:2"), aside=[broken]))
    assert (one.record["bags"], one.seq) == (7, 1)


@pytest.mark.parametrize("target", [f"{P3}:2", f"{P3}:9", "p1-a2b3:1", "shed:1", "x", 7, None])
def test_2026_11_25_a_broken_mend_that_names_what_it_may_not_stands_for_itself(target):
    broken = set_aside(a(2, bags=77, instead_of=target))
    other = a(1, device="p1-a2b3")
    result = merged(other, shed(1, bags=7, instead_of=f"{P3}:2"), aside=[broken])
    assert [(one.device, one.seq) for one in result.counted] == [("p1-a2b3", 1), (P3, 2)]


def test_a_sound_record_outweighs_a_waiting_line_of_its_name():
    broken = set_aside(a(1, bags=77, person="SW"))
    one = only(merged(a(1), aside=[broken]))
    assert (one.record["bags"], one.person) == (1, "MT")


def test_an_unknown_kind_is_kept_in_the_numbers_and_counts_for_nothing():
    dream = {"device": P3, "seq": 2, "kind": "dream", "of": f"{P3}:1", "instead_of": f"{P3}:1"}
    result = merged(a(1), dream)
    assert names(result) == [f"{P3}:1"]
    assert received(result) == {P3: [1, 2]}
    assert (len(result.times), f"{P3}:1" in result.times) == (1, True)


def test_nothing_stands_in_for_a_record_of_an_unknown_kind():
    dream = {"device": P3, "seq": 1, "kind": "dream"}
    one = only(merged(dream, a(2, instead_of=f"{P3}:1")))
    assert (one.name, one.seq) == (f"{P3}:2", 2)


def test_unknown_fields_are_kept():
    assert only(merged(a(1, wind_bft=4))).record["wind_bft"] == 4


@pytest.mark.parametrize(("at", "day"), [
    ("2025-12-31T10:59:59.999Z", date(2025, 12, 31)),
    ("2025-12-31T11:00:00.000Z", date(2026, 1, 1)),
    ("2026-01-01T10:59:59.999Z", date(2026, 1, 1)),
    ("2026-06-30T11:59:59.999Z", date(2026, 6, 30)),
    ("2026-06-30T12:00:00.000Z", date(2026, 7, 1)),
])
def test_a_day_is_the_local_day_of_the_block(at, day):
    assert only(merged(a(1, at=at))).day == day


def test_the_day_is_that_of_the_mended_time():
    at, lag_s = "2025-12-31T09:00:00.000Z", -7200.0
    one = only(merged(a(1, at=at, where={**HERE, "lag_s": lag_s})))
    assert (one.day, one.lag_s) == (date(2026, 1, 1), lag_s)


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Pacific/Pago_Pago"])
@pytest.mark.parametrize("at", ["0001-01-01T00:00:00.000Z", "9999-12-31T23:59:59.999Z"])
def test_2026_11_25_a_time_at_the_end_of_the_calendar_stops_nobody(zone, at):
    assert len(merged(a(1, at=at), shed(1, at=at), zone=zone).counted) == 2


def test_2026_11_25_letters_of_a_phone_without_a_sheet_are_the_people_the_owner_says():
    aliases = {("x-k7f2", "A"): "MT", ("x-k7f2", "B"): "SW"}
    by_letter = a(1, device="x-k7f2", person="A", **{"for": "B"})
    one = only(merged(by_letter, aliases=aliases))
    assert one.person == "MT"
    assert one.record["for"] == "SW"
    other = only(merged({**by_letter, "device": "y-k7f2"}, aliases=aliases))
    assert (other.person, other.record["for"]) == ("A", "B")


def test_a_person_code_that_the_shed_writes_is_no_letter():
    aliases = {("x-k7f2", "B"): "SW"}
    records = [a(1, device="x-k7f2", person="B"),
               shed(1, instead_of="x-k7f2:1", **{"for": "B"})]
    one = only(merged(*records, aliases=aliases))
    assert (one.person, one.record["for"]) == ("SW", "B")


def test_what_counts_comes_by_time_then_by_device_and_number():
    at = stamp(T0)
    result = merged(a(2, at=at), a(1, at=at), a(1, device="p1-a2b3", at=at), shed(1, at=at))
    assert names(result) == ["p1-a2b3:1", f"{P3}:1", f"{P3}:2", "shed:1"]


def test_2026_11_25_a_very_long_chain_is_followed_without_counting_the_steps_twice():
    chain = [a(1, at=stamp(T0))] + [
        a(seq, at=stamp(T0), instead_of=f"{P3}:{seq - 1}") for seq in range(2, 20_001)]
    ready = [Held(name_of(one), f"{one['seq']:064x}", one, sealed=True) for one in chain]
    one = only(merge(ready, zone=ZONE, clock_off_s=120.0))
    assert (one.name, one.seq) == (f"{P3}:20000", 1)


def test_what_does_not_count_says_by_what_and_keeps_its_first_time_and_person():
    paper = shed(1, bags=3, covers=[P3, 7, 7])
    found = merged(a(1), a(2), a(3), void(4, "p3-k7f2:1"), a(5, instead_of="p3-k7f2:2", bags=2),
                   a(6, instead_of="p3-k7f2:5", bags=3, person="RK"), a(7), paper)
    assert [(one.said.name, one.how, one.by) for one in found.undone] == [
        ("p3-k7f2:1", "void", "p3-k7f2:4"), ("p3-k7f2:2", "mended", "p3-k7f2:6"),
        ("p3-k7f2:5", "mended", "p3-k7f2:6"), ("shed:1", "paper", P3)]
    assert {one.said.person for one in found.undone[:3]} == {"MT"}
    assert found.undone[2].said.at == T0 + timedelta(minutes=2)
    assert {*names(found), *(one.said.name for one in found.undone)} == {
        *(f"p3-k7f2:{i}" for i in (1, 2, 3, 5, 6, 7)), "shed:1"}
