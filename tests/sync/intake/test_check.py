import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldapp.record import FileError, sum_of
from sync.intake.check import Aside, Held, check_line, check_lines

BAG = {"device": "p3-k7f2", "seq": 4, "kind": "bag", "at": "2026-01-20T19:10:00.000Z",
       "person": "MT", "where": None, "bags": 1}


def line(**fields):
    return json.dumps({key: value for key, value in {**BAG, **fields}.items()
                       if value != "left out"}).encode()


def check(data, *, promised=None, sealed=True):
    return check_line(data, file="a.handover.zip", number=3, sealed=sealed, promised=promised)


def aside(data, *, promised=None):
    found = check(data, promised=promised)
    assert isinstance(found, Aside), found
    return found


def test_a_sound_line_is_held_under_its_name_and_sum():
    assert check(line(), sealed=False) == Held("p3-k7f2:4", sum_of(BAG), BAG, sealed=False)


def test_the_same_record_written_another_way_has_the_same_sum():
    spaced = json.dumps({**dict(reversed(BAG.items())), "bags": 1.0}, indent=None).encode()
    plain = check(line())
    assert isinstance(plain, Held)
    found = check(spaced + b"\r\n")
    assert isinstance(found, Held)
    assert found.total == plain.total


def test_a_line_set_aside_tells_file_line_name_field_value_reason_and_the_line_itself():
    found = aside(line(bags=77))
    assert (found.file, found.line, found.name) == ("a.handover.zip", 3, "p3-k7f2:4")
    assert (found.field, found.value) == ("bags", "77")
    assert found.reason.startswith("must lie between")
    assert found.raw.encode() == line(bags=77)


def test_the_first_of_many_faults_is_shown_with_the_number_of_the_others():
    found = aside(line(bags=77, person="Mia", press_ms=-1))
    assert found.reason.endswith("(and 2 more)")


@pytest.mark.parametrize(("fields", "field"), [
    ({"bags": "left out"}, "bags"), ({"bags": 0}, "bags"), ({"bags": "1"}, "bags"),
    ({"kind": None}, "kind"), ({"kind": 7}, "kind"), ({"at": "2026-01-20"}, "at"),
    ({"person": ""}, "person"), ({"note": 7}, "note"), ({"instead_of": "p3-k7f2:4"}, "instead_of"),
    ({"kind": "skip", "plot": "031", "why": "lazy"}, "why")])
def test_a_broken_limit_a_missing_field_and_an_unknown_word_set_the_record_aside(fields, field):
    assert aside(line(**fields)).field == field


@pytest.mark.parametrize("where", [
    None, "x", {}, {"lat": 91, "lon": 0, "age_s": 1}, {"lat": 0, "lon": 0, "age_s": -1},
    {"lat": 0, "lon": 0, "age_s": 1, "acc_m": 501},
    {"lat": 0, "lon": 0, "age_s": 1, "lag_s": "x"}])
def test_a_place_never_costs_a_record(where):
    assert isinstance(check(line(where=where)), Held)


@pytest.mark.parametrize("at", ["0001-01-01T00:00:00.000Z", "1970-01-01T00:00:00.000Z",
                                "2026-01-20T19:10:00.000Z", "9999-12-31T23:59:59.999Z"])
def test_a_clock_never_costs_a_record(at):
    assert isinstance(check(line(at=at)), Held)


def test_an_unknown_field_is_kept():
    found = check(line(wind_bft=4))
    assert isinstance(found, Held)
    assert found.record["wind_bft"] == 4


def test_an_unknown_kind_is_kept_and_told_whatever_else_it_says():
    dream = json.dumps({"device": "p3-k7f2", "seq": 5, "kind": "dream", "at": [], "person": 7})
    found = check_lines([line(), dream.encode()], file="f", sealed=True)
    assert [one.name for one in found.sound] == ["p3-k7f2:4", "p3-k7f2:5"]
    assert found.unknown == ("p3-k7f2:5",)
    assert found.aside == ()


@pytest.mark.parametrize("data", [
    b"", b"null", b"[]", b'"x"', b"{", b"not json", b'{"seq":NaN}', b'{"seq":1e999}',
    b'{"seq":-Infinity}', b"\xff", b"[" * 65 + b"]" * 65, b'{"a":' * 65 + b"1" + b"}" * 65,
    b'{"kind":"bag","note":"' + b"x" * 100_000 + b'"}', b"{" * 200_000])
def test_a_line_that_is_no_bearable_json_object_waits(data):
    found = aside(data, promised="p3-k7f2:9")
    assert (found.field, found.name) == ("line", "p3-k7f2:9")
    assert len(found.value) <= 80


@pytest.mark.parametrize("seq", [0, -1, 2**53, 1.5, "4", True, None, 10**400])
def test_a_line_without_a_usable_number_goes_by_the_one_its_manifest_promises(seq):
    assert aside(line(seq=seq), promised="p3-k7f2:9").name == "p3-k7f2:9"
    assert aside(line(seq=seq)).name is None


@pytest.mark.parametrize("data", [
    b'{"seq":1,"seq":2}', b'{"a":{"b":1,"b":1}}', b'{"note":"\\ud800"}', b'{"\\udfff":1}'])
def test_a_line_that_can_be_read_in_two_ways_refuses_the_whole_file(data):
    with pytest.raises(FileError):
        check_lines([line(), data], file="f", sealed=True)


def test_the_manifests_names_go_to_broken_lines_in_their_order():
    found = check_lines([line(), b"{", line(seq=9)], file="f", sealed=True,
                        expected=["p3-k7f2:4", "p3-k7f2:7", "p3-k7f2:9"])
    assert [one.name for one in found.sound] == ["p3-k7f2:4", "p3-k7f2:9"]
    assert [(one.line, one.name) for one in found.aside] == [(2, "p3-k7f2:7")]


def test_a_manifest_that_promises_another_count_lends_no_names():
    found = check_lines([b"{", line()], file="f", sealed=True, expected=["p3-k7f2:7"])
    assert found.aside[0].name is None


def test_a_long_value_is_cut_for_showing():
    found = aside(line(person="x" * 500))
    assert len(found.value) == 80
    assert found.value.endswith("…")


def test_2026_11_25_a_line_that_is_not_utf8_never_passes_later_with_other_words():
    data = line(note="man").replace(b"man", b"ma\xf1ana")
    found = aside(data, promised="p3-k7f2:4")
    again = aside(found.raw.encode(), promised=found.name)
    assert again.raw == found.raw
    assert "\\xf1" in found.raw


@given(st.binary(max_size=60))
def test_two_lines_that_differ_never_wait_as_the_same_text(data):
    found = check(data + b"{")
    other = check(data + b"\xf1{")
    assert isinstance(found, Aside)
    assert isinstance(other, Aside)
    assert found.raw != other.raw


@given(st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=8)),
    lambda inner: st.one_of(st.lists(inner, max_size=3),
                            st.dictionaries(st.text(max_size=6), inner, max_size=3)),
    max_leaves=8).flatmap(lambda value: st.fixed_dictionaries(
        {}, optional={key: st.just(value) for key in (*BAG, "instead_of", "covers", "for")})))
def test_whether_a_line_is_sound_depends_on_the_line_alone(changes):
    data = json.dumps({**BAG, **changes}).encode()
    try:
        found = check(data)
    except FileError:
        return
    assert check_line(data, file="other", number=1, sealed=False) == (
        Held(found.name, found.total, found.record, False) if isinstance(found, Held)
        else Aside("other", 1, found.name, found.field, found.value, found.reason, found.raw,
                   False))
