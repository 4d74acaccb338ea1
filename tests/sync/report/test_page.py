"""The report as somebody reads it who was never there: complete, escaped, and needing nothing."""

import re
from html.parser import HTMLParser

import pytest

from sync.register.doubts import Doubt
from sync.report.page import report_page


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


@pytest.fixture
def page(document):
    return report_page(document, [])


def test_it_needs_nothing_from_elsewhere_and_no_script(page):
    outline, _ = read(page)
    assert not [tag for tag, _ in outline.seen if tag in {"script", "link", "img", "iframe"}]
    assert not re.search(r"https?://|url\(", page)


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


def test_doubts_stand_in_it_where_there_are_any(page, document):
    assert "doubt" not in read(page)[1]
    _, text = read(report_page(document, [Doubt(None, "density falls by depth")]))
    assert "Density falls by depth." in text


def test_what_people_typed_is_escaped(document):
    ruled = {"says": "agreed", "note": "<script>alert(1)</script>", "by": "O", "stands": True,
             "at": "2026-02-20T00:00:00.000Z", "record": "shed:1"}
    flags = [{**flag, "ruling": ruled} for flag in document["flags"]]
    odd = {**document, "flags": flags, "block": {**document["block"], "name": "A & B <i>"}}
    outline, text = read(report_page(odd, []))
    assert not [tag for tag, _ in outline.seen if tag in {"script", "i"}]
    assert "A & B <i>" in text
    assert "agreed by O, <script>alert(1)</script>" in text


def test_each_table_has_its_heads_and_can_be_reached_by_keyboard(page):
    outline, _ = read(page)
    heads = [attrs for tag, attrs in outline.seen if tag == "th"]
    assert all(attrs.get("scope") in {"col", "row"} for attrs in heads)
    regions = [attrs for tag, attrs in outline.seen if attrs.get("role") == "region"]
    assert len(regions) == 3
    assert all(attrs["tabindex"] == "0" and attrs["aria-label"] for attrs in regions)


def test_an_empty_block_has_a_report_too(made):
    _, text = read(report_page(made.document_of(made.small_register(known=(), permits=())), []))
    assert "standing crop –" in text
