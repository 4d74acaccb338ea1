"""The pages in Spanish, made by the real handlers of a block: no English is left on them."""

import asyncio
import itertools
import re
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from typing import Any
from urllib.parse import urlencode

import pytest
from lxml import html

from sync.shed.app import app_of
from sync.shed.doors import COOKIE
from sync.shed.rebuild import View
from sync.shed.shed import Clocks, Shed, shed_of

NOW = datetime(2026, 3, 1, 3, tzinfo=UTC)
KEY = "the-owners-key"
PERMITS = """
[[permit]]
permit = "TM-1"
from = 2022-09-01
year_start = "09-01"
cap = 900.0
cap_unit = "kg_dry"
"""
PEOPLE = """
[O]
name = "O. O."
role = "owner"
[MT]
name = "M. T."
[RK]
name = "R. K."
"""
#: What people hear or read: texts, and the attributes that a reader is told.
TOLD = ("aria-label", "title", "placeholder", "alt", "data-label")
#: Words that Spanish has none of and English cannot do without.
ENGLISH = re.compile(r"\b(the|of|and|is|are|was|not|with|to|by|its|this|that|which|what|from|one"
                     r"|may|be|been|for|each|on|in|at|it|has|have|there|such|then|now)\b",
                     re.IGNORECASE)
_CODE = r"[A-Z]{1,2}\d\d|(?:p\d )?(?:p\d|shed|form)-?\w*(?::\d+)?|[A-Z]{1,2}(?: [A-Z]\. [A-Z]\.)?"
#: Texts that are the same in both languages: names, codes, files, units, and figures with them.
SAME = re.compile(
    rf"(?:Test Mire|(?:‹ )?Plan|{_CODE})(?: · Fallow)?|English|Español|TM-1|all"
    r"|\w\.(?:handover\.zip|csv)|[\W\d]*(?:(?:kg|g|t|ha|t/ha|mm|m|km)[\W\d]*)?|CSV|N|https://[\d.:]+/pairing")


@pytest.fixture
def shed(season: Any) -> Iterator[Shed]:
    """A shed of a block with a surveyed season, its register built; one phone is out."""
    made, files = season
    (made.folder / "permits.toml").write_text(PERMITS)
    (made.folder / "people.toml").write_text(PEOPLE)
    made.take(files, now=NOW)
    phone = made.phone("p3", "cccc", bytes(range(2, 34)))
    start = datetime(2026, 2, 28, 20, tzinfo=UTC)
    phone.note("outing", start, "RK", state="start", role="picker", where=None)
    phone.bag(start.replace(minute=30), 230, 150, person="RK")
    phone.note("check_in", start.replace(hour=21), "RK", state="help", where=None)
    made.take({"f.handover.zip": phone.pack()}, now=NOW)
    seconds = itertools.count(1.0, 0.001)
    opened = shed_of(made.folder, addresses=("192.0.2.7:8417", "127.0.0.1:8417"), pin="0" * 64,
                     key=KEY, clocks=Clocks(lambda: NOW, lambda: next(seconds)))
    opened.rebuilder.start()
    assert isinstance(opened.rebuilder.wait(1, most_s=60), View)
    yield opened
    opened.rebuilder.stop()


@pytest.fixture
def page(shed: Shed) -> Callable[..., Any]:
    """Give a page as the owner's browser gets it, in a language."""
    cookies = {language: shed.sign_in.sign_in(KEY, language=language) for language in ("en", "es")}

    def get(path: str, language: str = "es", *, signed_in: bool = True, **form: str) -> Any:
        cookie = cookies[language] if signed_in else ""
        fields = {**form, "token": shed.sign_in.form_token(cookie)} if form else {}
        body = urlencode(fields).encode()
        # A thread of its own: a browser of other tests may have a loop running in this one.
        with ThreadPoolExecutor(1) as alone:
            text = alone.submit(
                lambda: asyncio.run(asked(shed, path, cookie, language, body))).result()
        return html.document_fromstring(text or "<p>led on to another page</p>")

    return get


async def asked(shed: Shed, path: str, cookie: str, language: str, body: bytes) -> str:
    """Ask the application itself for a page, with no socket between."""
    path, _, query = path.partition("?")
    heads = {"accept-language": language, "cookie": f"{COOKIE}={cookie}",
             "content-type": "application/x-www-form-urlencoded",
             "content-length": str(len(body))}
    scope = {"type": "http", "method": "POST" if body else "GET", "path": path,
             "raw_path": path.encode(), "query_string": query.encode(), "http_version": "1.1",
             "scheme": "https", "root_path": "", "server": ("192.0.2.7", 8417),
             "client": ("192.0.2.9", 5), "headers": [
                 (name.encode(), value.encode()) for name, value in heads.items() if value]}
    sent: list[dict[str, Any]] = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": body, "more_body": False}

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    await app_of(shed)(scope, receive, send)
    return b"".join(one.get("body", b"") for one in sent).decode()


def told(tree: Any) -> Iterator[str]:
    """Give all texts of a page that are in the page's own language."""
    own = tree.get("lang")
    yield from _told(tree, own, own)


def _told(node: Any, own: str, lang: str) -> Iterator[str]:
    if node.tag in ("script", "style") or not isinstance(node.tag, str) or _is_a_record(node):
        return
    lang = node.get("lang", lang)
    if lang == own:
        yield from (node.get(name) for name in TOLD if node.get(name))
        if node.text and node.text.strip():
            yield node.text.strip()
    for child in node:
        yield from _told(child, own, lang)
        if lang == own and child.tail and child.tail.strip():
            yield child.tail.strip()


def _is_a_record(node: Any) -> bool:
    """Say whether a record as it was received stands here, in the words of its fields."""
    return node.tag == "table" and bool(node.xpath("./tbody/tr/th[.='device']"))


PAGES = (
    "/block", "/block?number=kg", "/block?number=picked_pct&size=half&state=ready",
    "/block?number=rest_ends", "/block?on=2026-02-30", "/cell/B02", "/cell/C01", "/cell/Z99",
    "/flags", "/flags?rule=missing_records", "/phones", "/phones?said=revoked", "/phones/pair",
    "/phones/code", "/plan", "/plan/seasons", "/report", "/help", "/aside", "/aside?said=3",
    "/record/p1-aaaa:1",
    "/record/p1-aaaa:9999", "/type/clip", "/type/lot", "/type/batch", "/type/bag",
    "/type/past_pick", "/type/notice", "/type/clip?said=shed%3A1",
)

#: What the owner sends and is answered on the same page: boxes that are wrong, odd, typed twice.
ANSWERED = (
    ("/type/clip", {"day": "x", "person": "?", "clip": " ", "dry_g": "1,5,5", "area_m2": "9"}),
    ("/type/clip", {"day": "2026-02-01", "person": "XX", "clip": "C1", "from_mm": "9",
                    "to_mm": "3"}),
    ("/type/clip", {"day": "2026-02-01", "person": "O", "clip": "C1", "dry_g": "30"}),
    ("/type/clip", {"day": "2026-02-01", "person": "O", "clip": "C1", "dry_g": "30",
                    "again": "31"}),
    ("/type/clip", {"day": "2027-02-01", "person": "O", "clip": "C1"}),
    ("/type/lot", {"day": "2026-02-01", "person": "O", "batch": "D1", "bags": "0,3",
                   "dry_kg": "9999999", "moist_pct": "101"}),
    ("/type/batch", {"day": "2026-02-01", "person": "O", "batch": "B1", "stage": "lost"}),
    ("/type/bag", {"day": "2026-02-01", "person": "RK", "cell": "Z99", "bags": "3"}),
    ("/type/bag", {"day": "2026-02-01", "person": "RK", "cell": "7", "bags": "0",
                   "covers": "p1 3"}),
    ("/type/past_pick", {"person": "O", "cell": "B02", "from": "2020-01-02",
                         "to": "2020-01-01"}),
    ("/type/notice", {"day": "2026-02-01", "person": "O", "permit": "TM-9",
                      "start": "2026-03-01"}),
    ("/plan/seasons", {"years": "x", "fix": "C7 B01=2026", "never": "C?"}),
    ("/phones/pair", {"phone": "P 1"}), ("/take", {"person": "O"}),
    ("/flags/rule", {"flag": "none", "seen": "0", "says": "upheld"}),
)


def left_in_english(page: Any, path: str, **asked: Any) -> list[str]:
    """Give what is English by its words, or said as in English though it is no name or unit."""
    spanish, english = list(told(page(path, **asked))), set(told(page(path, "en", **asked)))
    assert len(spanish) > 4, f"{path}: {spanish}"
    return sorted({text for text in spanish if ENGLISH.search(text)
                   or (text in english and not SAME.fullmatch(text))})


def test_no_english_is_left_on_a_page(page):
    left = [(path, text) for path in PAGES for text in left_in_english(page, path)]
    assert left == [], "\n".join(map(str, left))


def test_no_english_is_left_where_a_form_is_answered(page):
    left = [(path, text) for path, given in ANSWERED
            for text in left_in_english(page, path, **given)]
    assert left == [], "\n".join(map(str, left))


@pytest.mark.parametrize("years", ["4", "10"])
def test_no_english_is_left_where_seasons_are_worked_out(page, shed, years):
    page("/plan/seasons", years=years, even="60", at_least="0", fix="A01=2027", never="B01",
         no_neighbours="1")
    shed.seasons.wait(most_s=30.0)

    assert shed.seasons.state().made is not None
    assert left_in_english(page, "/plan/seasons") == []


def test_no_english_is_left_on_the_pages_of_strangers(page):
    left = [(path, text) for path in ("/sign-in", "/sign-in?again=1", "/pairing")
            for text in left_in_english(page, path, signed_in=False)]
    assert left == [], "\n".join(map(str, left))


def test_a_phone_is_paired_in_spanish(page, shed):
    shed.desk.open_code("p7")

    assert left_in_english(page, "/phones/code") == []


def test_a_flag_is_ruled_on_in_spanish(page):
    form = page("/flags").xpath("//form[@class='ruling']")[0]
    fields = {one.get("name"): one.get("value") for one in form.xpath(".//input[@value]")}
    flag, seen = fields["flag"], fields["seen"]

    assert left_in_english(page, "/flags/rule", flag=flag, seen="0" * 64, says="not_so") == []

    page("/flags/rule", flag=flag, seen=seen, says="not_so", note="nota")
    decided = page("/flags").xpath("//article[.//details]")

    assert "No fue así" in decided[0].text_content()
    assert "Cambiar esto" in decided[0].text_content()


def test_figures_of_a_page_have_a_decimal_comma(page):
    for path in ("/block", "/cell/B02", "/plan"):
        text = " ".join(told(page(path)))
        assert re.search(r"\d,\d", text), path
        assert re.findall(r"\d+\.\d+", text) == [], path


def test_a_page_says_which_language_it_is_in(page):
    assert page("/help").get("lang") == "es"
    assert page("/help", "en").get("lang") == "en"
