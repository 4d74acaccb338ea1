"""The report as somebody reads it who was never there: complete, escaped, and needing nothing."""

import re
from datetime import date
from html.parser import HTMLParser

import lxml.html
import pytest

from sync.block import TrialDraw, TrialPair
from sync.flags.raised import RULES
from sync.register.doubts import Doubt
from sync.report.page import report_body, report_page
from sync.report.page_css import REPORT_CSS, css_string, foot_css
from sync.report.page_flags import FLAG_TITLES, flag_title, sure_words
from sync.report.page_noted import noted_by
from sync.report.table import register_table


class Outline(HTMLParser):
    """Gathers what stands in the page, and whether its tags close."""

    def __init__(self):
        super().__init__()
        self.open, self.text, self.seen = [], [], []

    def handle_starttag(self, tag, attrs):
        self.seen.append((tag, dict(attrs)))
        if tag not in {"meta", "br"}:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text.append(data)


def read(page):
    outline = Outline()
    outline.feed(page)
    assert outline.open == []
    return outline, " ".join(" ".join(outline.text).split())


@pytest.fixture(scope="module")
def page(register, document):
    return report_page(register, document, [])


def with_ruling(document, **changes):
    ruled = {"says": "agreed", "note": None, "by": "O", "stands": True,
             "at": "2026-02-19T23:30:00.000Z", "record": "shed:9", **changes}
    return {**document, "flags": [{**flag, "ruling": ruled} for flag in document["flags"]]}


def test_it_needs_nothing_from_elsewhere_and_no_script(page):
    outline, _ = read(page)
    assert not [tag for tag, _ in outline.seen if tag in {"script", "link", "img", "iframe"}]
    assert not re.search(r"https?://|url\((?!#)|@import", page)


def test_the_body_by_itself_has_no_style_so_that_a_strict_page_takes_it_in(register, document):
    outline, _ = read(report_body(register, document, [], href=lambda cell: f"/cell/{cell}"))
    assert outline.seen[0] == ("div", {"class": "report"})
    assert not [tag for tag, _ in outline.seen if tag in {"html", "head", "style", "script"}]
    assert not [name for _, attrs in outline.seen for name in attrs
                if name == "style" or name.startswith("on")]
    links = [attrs["href"] for tag, attrs in outline.seen if tag == "a"]
    assert links.count("/cell/B02") == 3  # the map, a flag, the table of cells


def test_the_map_leads_to_the_rows_of_the_cells_where_no_other_place_is_told(page, document):
    outline, _ = read(page)
    rows = {attrs["id"] for tag, attrs in outline.seen if tag == "tr" and "id" in attrs}
    links = {attrs["href"] for tag, attrs in outline.seen if tag == "a"}
    assert rows == {f"cell-{row['cell']}" for row in document["cells"]}
    assert links == {f"#{row}" for row in rows}


def test_it_tells_block_classes_flags_and_every_cell(page, document):
    _, text = read(page)
    block = document["block"]["standing_crop_t"]
    assert f"{block['value']:,.1f} (90 % {block['low']:,.1f} to {block['high']:,.1f})" in text
    for row in document["classes"]:
        assert row["why"] in text
    for flag in document["flags"]:
        assert flag["name"] in text
    for row in document["cells"]:
        assert f" {row['cell']} " in text
    assert document["made_of"]["records"][:12] in text


def test_its_cells_have_the_document_s_figures(page, document):
    rows = lxml.html.fromstring(page).xpath("//table[@class='cells']/tbody/tr")
    shown = [tuple("".join(one.itertext()) for one in row) for row in rows]
    assert shown == [tuple(row) for row in register_table(document).rows]


def test_its_totals_say_what_is_not_surveyed(page, document):
    _, text = read(page)
    block = document["block"]
    left = block["open_ha"] - block["surveyed_ha"]
    assert left > 0
    assert f"not surveyed {left:.2f} ha of open ground" in text
    assert f"{block['not_estimated_ha']:.2f} ha is not counted" in text


def test_the_key_stands_under_the_map_with_its_counts(page, document):
    _, text = read(page)
    for state in ("ready", "taken", "resting", "unsurveyed", "closed"):
        count = sum(row["state"] == state for row in document["cells"])
        assert f" {state} {count} " in text


def test_doubts_stand_in_it_where_there_are_any(page, register, document):
    assert "doubt" not in read(page)[1]
    _, text = read(report_page(register, document, [Doubt(None, "density falls by depth")]))
    assert "Density falls by depth." in text


def test_every_rule_has_a_title_in_words():
    assert {rule.__name__ for rule in RULES} <= set(FLAG_TITLES)
    assert flag_title("made_up_rule") == "Made up rule"


def test_a_flag_is_told_by_title_sentence_and_probability(page, document):
    _, text = read(page)
    flag = next(flag for flag in document["flags"] if flag["rule"] == "early_pick")
    assert "Picked before rest ended · B02" in text
    assert flag["why"][1:] in text
    assert f"How sure: {sure_words(flag)}." in text
    assert f"{flag['record_count']} records: {flag['records'][0]}" in text
    assert "Ruling: none yet." in text


@pytest.mark.parametrize(("chance", "words"), [
    (None, "sure, yes or no, without a probability"), (0.97, "sure, probability 0.97"),
    (0.99996, "sure, probability over 0.9999"), (0.9951, "sure, probability 0.9951")])
def test_a_probability_stands_in_words_and_as_a_number(chance, words):
    assert sure_words({"probability": chance, "how_sure": "sure"}) == words


def test_a_ruling_tells_what_by_which_code_on_which_local_day_and_why(register, document, made):
    ruled = with_ruling(document, note="the owner sent them")
    _, text = read(report_page(register, ruled, []))
    assert ("Agreed: it happened and was permitted, by O on 20 Feb 2026 (shed:9). "
            "Note: The owner sent them.") in text
    assert "open again" not in text
    for person in made.PEOPLE:
        assert person.name not in text


def test_a_ruling_that_no_longer_fits_says_so(register, document):
    _, text = read(report_page(register, with_ruling(document, stands=False), []))
    assert "It has changed since: the flag is open again." in text


def test_who_noted_what_is_counts_by_code_and_kind_and_nothing_else(register, page, made):
    noted = noted_by(register)
    told = {person: dict(zip(noted.kinds, counts, strict=True)) for person, counts in noted.rows}
    assert told["MT"]["bag"] == 60 + 5 + 20
    assert told["SW"] == {**dict.fromkeys(noted.kinds, 0), "quadrat": 10, "skip": 1, "clip": 2}
    assert sum(map(sum, (counts for _, counts in noted.rows))) == len(register.merged.counted)
    heads = lxml.html.fromstring(page).xpath("//h2[.='Who noted what']/following::table[1]//th")
    assert {one.text for one in heads} == {
        "person", *(kind.replace("_", " ") for kind in noted.kinds), *told}
    before = noted_by(made.small_register(on=made.date(2024, 6, 30)))
    assert "bag" not in before.kinds


def test_what_people_typed_is_escaped(register, document):
    ruled = with_ruling(document, note="<script>alert(1)</script>", by="<b>")
    odd = {**ruled, "block": {**document["block"], "name": "A & B </style><i>"}}
    odd["flags"] = [{**flag, "why": "<u>x", "about": "<s>"} for flag in odd["flags"]]
    outline, text = read(report_page(register, odd, []))
    tags = [tag for tag, _ in outline.seen]
    assert not {"script", "i", "u", "s"} & set(tags)
    assert tags.count("style") == 1
    assert "A & B </style><i>" in text
    assert "Note: <script>alert(1)</script>." in text


@pytest.mark.parametrize(
    "name", ['"; } body { x', "</style>", "a\\", "\n\f", "Kettle Mire", "ñ\0"])
def test_a_name_in_a_style_sheet_stays_within_its_string(name):
    written = css_string(name)
    inner = re.fullmatch(r'"((?:[A-Za-z0-9 ]|\\[0-9a-f]{1,6} )*)"', written)
    assert inner
    read_back = re.sub(r"\\([0-9a-f]+) ", lambda m: chr(int(m[1], 16)), inner[1])
    assert read_back == name.replace("\0", "\N{REPLACEMENT CHARACTER}")


def test_the_foot_of_each_page_has_block_register_s_day_day_and_number(register, document):
    page = report_page(register, document, [], made_on=date(2026, 3, 1))
    assert foot_css("Test Mire", "register of 20 Feb 2026 · made on 1 Mar 2026") in page
    assert "counter(page)" in REPORT_CSS
    assert "made on" not in report_page(register, document, [])


def test_each_table_has_its_heads_and_can_be_reached_by_keyboard(page):
    outline, _ = read(page)
    heads = [attrs for tag, attrs in outline.seen if tag == "th"]
    assert all(attrs.get("scope") in {"col", "row"} for attrs in heads)
    regions = [attrs for tag, attrs in outline.seen if attrs.get("role") == "region"]
    assert len(regions) == 4
    assert all(attrs["tabindex"] == "0" and attrs["aria-label"] for attrs in regions)
    assert len([tag for tag, _ in outline.seen if tag == "table"]) == 3


def test_no_id_stands_twice(page):
    ids = [attrs["id"] for _, attrs in read(page)[0].seen if "id" in attrs]
    assert len(ids) == len(set(ids))


def test_fixed_words_pass_through_the_page_s_language(register, document):
    body = lxml.html.fromstring(report_body(register, document, [], say=lambda word: "¤"))
    heads = body.xpath("//h2 | //thead//th")
    assert {one.text for one in heads} == {"¤"}


def test_the_same_register_gives_the_same_report(register, document, page):
    assert report_page(register, document, []) == page


def test_an_empty_block_has_a_report_too(made):
    register = made.small_register(known=(), permits=())
    _, text = read(report_page(register, made.document_of(register), []))
    assert "standing crop –" in text
    assert "No record counts yet." in text


def test_it_tells_what_regrew_condition_and_trials_in_a_line_where_there_is_nothing(page):
    _, text = read(page)
    for title in ("What regrew", "Condition", "Trials"):
        assert title in text
    assert "No cell was measured again after a pick yet." in text
    assert "No plot was read for scrub or water in two surveys yet." in text
    assert "No trial was drawn yet." in text


def test_a_trial_that_was_drawn_stands_in_it_with_its_pairs(made):
    draw = TrialDraw("rolling <b>", "rolled", date(2024, 9, 1), 7,
                     (TrialPair("A01", "A02", "lawn", 40.0, 41.0),))
    register = made.small_register(trials=(draw,))
    text = report_page(register, made.document_of(register), [])
    assert "Trial rolling &lt;b&gt;: rolled" in text
    assert "A01 T" in text
    assert "A01 is not rolled yet; the pair does not count yet" in text
