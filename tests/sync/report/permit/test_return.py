"""The return as a document, as text and as a page."""

import dataclasses
import json
from datetime import UTC, date, datetime
from importlib.resources import files

import jsonschema
import pytest

from sync.block import BagType, Feature, Permit
from sync.register.build import Inputs
from sync.report.document import register_document
from sync.report.permit import figures_sum, return_page, return_text, returns_json, returns_of
from sync.settings import Tunables

PERMIT = Permit("TM-1", (), None, None, (9, 1), 1000.0, "kg_dry", 30.0, 40.0, None, None, 20)
ON = date(2026, 2, 20)


def book_of(mire):
    book = mire.Book()
    for cell in ("A01", "B02", "B02", "C03"):
        book.quadrat(date(2025, 6, 20), cell, 60, (90, 110))
    book.note("notice", date(2025, 8, 14), "O", permit="TM-1", what="start", start="2025-09-15")
    book.bags(date(2025, 12, 1), "B02", 80)
    book.quadrat(date(2025, 2, 1), "A01", 60, (90, 110))
    book.bags(date(2025, 3, 1), "A01", 80)
    book.bags(date(2026, 1, 10), "A01", 8)  # rests until 2030
    for depth in (60, 80):
        book.quadrat(date(2025, 12, 3), "B02", 30, (depth, depth), when="after_pick")
    return book


def made(mire, book, permit=PERMIT, *, year=2025, asked=ON, known_by=None, program="0.1.0",
         **changes):
    inputs = Inputs(mire.mire(permits=(permit,), **changes), Tunables(), mire.held([book]), (),
                    program, known_by)
    return returns_of(inputs, [(permit, year)], asked=asked)[0]


@pytest.fixture(scope="module")
def whole(mire):
    closures = (Feature(mire.polygon(0, 0, 50, 50), {"why": "pool <b>"}),)
    return made(mire, book_of(mire), closures=closures)


def fits(document):
    schema = json.loads(
        (files("sync.report") / "schemas" / "permit_return.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(json.loads(returns_json([document])), schema)
    return True


def said(document):
    return " ".join(return_text(document).split())


@pytest.mark.parametrize(("unit", "cap"), [
    ("kg_dry", 1000.0), ("kg_wet", 9000.0), ("bags", 100.0), ("m3", 10.0), (None, None)])
def test_every_unit_of_a_cap_fits_the_schema_and_is_told_in_its_own_words(mire, unit, cap):
    permit = dataclasses.replace(PERMIT, cap=cap, cap_unit=unit)
    found = made(mire, book_of(mire), permit).document
    assert fits(found)
    words = {"kg_dry": "616 kg shed-dry (90 % ", "kg_wet": "Cannot be told in kg wet",
             "bags": "88 bags, 88 % of the cap of 100; 12 left. That is 616 kg shed-dry",
             "m3": "7.9 m³, 79 % of the cap of 10; 2.1 left.", None: "616 kg shed-dry"}
    assert words[unit] in said(found)


def test_a_document_with_a_key_left_out_does_not_fit(whole):
    assert fits(whole.document)
    bad = dict(whole.document)
    del bad["kept"]
    with pytest.raises(jsonschema.ValidationError):
        fits(bad)


def test_the_text_fits_100_columns_and_says_each_line_of_a_return(whole):
    text = return_text(whole.document)
    assert max(map(len, text.splitlines())) <= 100
    for sentence in (
        "Test Mire: return under TM-1, 1 Sep 2025 to 31 Aug 2026",
        "The permit year is not over: this is until 20 Feb 2026.",
        ("at most 1,000 kg shed-dry a permit year; 30 % of the pickable moss stays; 40 mm of "
        "living strand stay; notice 20 clear working days before the start."),
        "62 % of the cap of 1,000; 384 left. 88 bags were tallied.",
        "8 bags (56 kg) besides are of no pick",
        "1 cell picked before the rest ended: 56 kg shed-dry; 0.00 ha of ground picked twice (see",
        "As measured after picking, still standing: 25 % of the pickable moss (90 % 0 to",
        "where 30 % must stay: the quadrats do not settle it",
        "1 of 1 picked cells, 2 quadrats before and 2 after",
        "Given 14 Aug 2025 for a start on 15 Sep 2025: 21 clear working days of 20 needed, in",
        "pool <b>: always; 0.25 ha in A01.",
        "Picked before rest ended (sure; the owner has not ruled): A01 rests until 2030-03-01",
        "No return of this year is on record as filed.",
    ):
        assert sentence in " ".join(text.split()), sentence


def test_ground_that_nothing_tells_is_called_so(mire):
    book = book_of(mire)
    book.note("void", date(2025, 2, 2), "O", of="shed:8")
    assert "56 kg shed-dry; how much ground, nothing tells (see" in said(made(mire, book).document)


def test_without_picks_quadrats_or_notice_it_says_so(mire):
    found = made(mire, mire.Book()).document
    assert fits(found)
    for sentence in ("0 kg shed-dry, 0 % of the cap", "Nothing was picked.",
                     "No cell is known to have been picked before its rest ended.",
                     "Not measured: no picked cell", "None is on record; 20 clear working days",
                     "Nothing was closed.", "Flags None."):
        assert sentence in said(found), sentence
    free = dataclasses.replace(PERMIT, cap=None, cap_unit=None, keep_pct=None,
                               living_layer_mm=None, notice_days=None)
    assert "Asked under the permit: nothing." in said(made(mire, mire.Book(), free).document)
    assert "None was needed or given." in said(made(mire, mire.Book(), free).document)


def test_a_late_notice_and_a_passed_cap_are_told(mire):
    book = book_of(mire)
    book.bags(date(2025, 9, 10), "C03", 120)
    found = made(mire, book).document
    rules = [one["rule"] for one in found["flags"]]
    assert {"permit_cap", "late_notice", "early_pick"} <= set(rules)
    assert "Permit's cap passed (" in said(found)
    assert fits(found)


def test_flags_of_another_year_and_of_another_kind_are_not(mire):
    book = book_of(mire)
    book.bags(date(2024, 12, 1), "C03", 200)
    assert [one["rule"] for one in made(mire, book).document["flags"]] == ["early_pick"]
    year = made(mire, book, year=2024).document
    assert {"permit_cap", "late_notice"} <= {one["rule"] for one in year["flags"]}
    assert year["on"] == "2025-08-31"


def test_a_ruling_is_told_beside_its_flag_and_moves_no_figure(mire):
    book = book_of(mire)
    flag = next(one for one in made(mire, book).flags if one.rule == "early_pick")
    before = made(mire, book).document
    book.note("ruling", date(2026, 2, 1), "O", flag=flag.name, says="not_so", seen=flag.seen)
    after = made(mire, book).document
    assert "(sure; ruled not so): A01" in said(after)
    assert figures_sum(before) == figures_sum(after)
    assert after["rest"] == before["rest"]


def test_the_sum_of_figures_heeds_figures_and_not_how_they_were_printed(mire):
    book = book_of(mire)
    base = made(mire, book).document
    known = datetime(2026, 2, 20, tzinfo=UTC)
    other = made(mire, book, program="9.9.9", known_by=known).document
    assert other != base
    assert figures_sum(other) == figures_sum(base)
    book.bags(date(2026, 1, 10), "B02", 0.5)
    assert figures_sum(made(mire, book).document) != figures_sum(base)


def filed(book, taken):
    book.note("notice", date(2026, 2, 1), "O", permit="TM-1", what="return", year=2025,
              known_by="2026-02-01T00:00:00.000Z", taken=taken, sum="0" * 64)


@pytest.mark.parametrize(("taken", "same", "words"), [
    (616, True, "What was taken is what was filed, 616 kg shed-dry."),
    (615, False, ("with 615 kg shed-dry taken; by what is known now it is 616 kg shed-dry: no "
                 "longer the same.")),
    (None, False, "with – kg shed-dry taken; by what is known now it is 616 kg shed-dry")])
def test_what_was_filed_is_told_with_what_it_would_be_now(mire, taken, same, words):
    book = book_of(mire)
    filed(book, taken)
    one = made(mire, book)
    assert fits(one.document)
    assert one.document["filed"]["same"] is same
    assert words in said(one.document)
    (permit,) = register_document(one.register, one.flags)["permits"]
    assert permit["filed"] == one.document["filed"]


def page(*made):
    return return_page([(one.document, one.register, register_document(one.register, one.flags))
                        for one in made])


def test_the_page_is_escaped_and_marks_the_cells_that_were_picked(whole):
    html = page(whole)
    assert "pool &lt;b&gt;: always" in html
    assert "pool <b>" not in html
    assert html.count('class="halo"') == 1
    assert ">560</text>" in html
    assert html == page(whole)
    assert "<script" not in html


def test_two_permits_have_a_page_each_and_ids_of_their_own(mire, whole):
    names = dataclasses.replace(PERMIT, name="<i>TM-2")
    other = made(mire, book_of(mire), names)
    html = page(whole, other)
    assert html.count('<section class="report return">') == 2
    assert "&lt;i&gt;TM-2" in html
    ids = [part.split('"')[0] for part in html.split(' id="')[1:]]
    assert len(ids) == len(set(ids)) == 18


def test_a_bag_type_without_litres_tells_no_cubic_metres(mire):
    permit = dataclasses.replace(PERMIT, cap=6.0, cap_unit="m3")
    found = made(mire, book_of(mire), permit, bags=(BagType("sack", None, 7.0),)).document
    assert (found["taken"], found["left"]) == (None, None)
    assert "Cannot be told in m³: the records do not tell it" in said(found)


def test_2026_11_28_bags_of_no_pick_are_told_where_there_is_no_pick_at_all(mire):
    book = mire.Book()
    book.bags(date(2025, 12, 1), None, 12)
    found = made(mire, book).document

    assert found["picked"]["picks"] == []
    assert "Nothing was picked" not in said(found)
    assert ("No pick of a cell is known, so no area. 12 bags (84 kg) besides are of no pick"
            in said(found))


def test_2026_11_28_what_makes_a_return_is_said_with_its_day(whole):
    assert "the same four give, of the same day, the same return." in said(whole.document)


def test_2026_11_28_a_cap_of_nothing_is_said_beside_what_was_taken(mire):
    none = dataclasses.replace(PERMIT, cap=0.0)
    assert "kg shed-dry (90 %" in said(made(mire, book_of(mire), none).document)
    assert ", where the cap is 0. 88 bags were tallied." in said(
        made(mire, book_of(mire), none).document)


def test_2026_11_28_one_bag_is_told_as_one(mire):
    book = mire.Book()
    book.bags(date(2025, 12, 1), None, 1)
    text = said(made(mire, book).document)
    assert "1 bag was tallied." in text
    assert "1 bag (7 kg) besides is of no pick" in text
