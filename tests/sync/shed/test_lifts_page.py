"""LIFTS on the page Plan: cards in order, the hook's limit, and a round from card to record."""

import re
from datetime import UTC, date, datetime

import pytest
from lxml import html
from running_shed import Owner

ON = "2026-01-28"
KG = (88, 102, 78, 96, 80, 74, 98, 90, 86, 88)
BAGS = "form,row,kind,day,person,bags,cell,pile\n" + "".join(
    f"tally,{i},bag,2026-01-2{i},O,23,B02,Bale Knoll 2\n" for i in (1, 2))
SCALE = "form,row,kind,day,person,batch,stage,bags,from,wet_kg\n" + "".join(
    f"scale,{i},batch,{ON},O,W-{i},weighed,1,Bale Knoll 2|,{kg}\n" for i, kg in enumerate(KG, 1))


@pytest.fixture
def owner(small, open_here):
    block = small()
    block.take({"bags.csv": BAGS.encode(), "scale.csv": SCALE.encode()})
    here = open_here(block.folder)
    one = Owner(here)
    one.sign_in(here.code)
    one.ready()
    one.here = here
    return one


def said(page):
    return " ".join(page.cssselect("main")[0].text_content().split())


def cards(page):
    (table,) = [one for one in page.cssselect("table.cards")
                if "in order" in one.cssselect("caption")[0].text_content()]
    return [[box.text_content().strip() for box in row.cssselect("th, td")]
            for row in table.cssselect("tbody tr")]


def look(owner, limit="620", path="/plan/lifts"):
    return html.fromstring(owner.ready(f"{path}?on={ON}&limit_kg={limit}").text)


def test_the_page_has_a_card_a_lift_and_says_which_weighing_it_used(owner):
    page = look(owner)

    assert [row[:5] for row in cards(page)] == [
        [str(n), "☐", f"L0128-{n}", "Bale Knoll 2|", "6" if n < 7 else "5"] for n in range(1, 9)]
    text = said(page)
    assert "A wet bag: 88 ± 9 kg, by 10 weighings on 28 Jan 2026." in text
    assert "Bags a sling under the hook's 620 kg: 6; 95 of 100" in text
    assert text.index("the pilot decides") < text.index("A wet bag: 88")


def test_2026_11_28_one_weighing_is_told_once_for_all_piles(small, open_here):
    """Its two sentences stood there twice: for the pile that was weighed, and for the others."""
    block = small()
    other = BAGS.replace("tally", "other").replace("Bale Knoll 2", "P1-9")
    block.take({"bags.csv": BAGS.encode(), "other.csv": other.encode(),
                "scale.csv": SCALE.encode()})
    here = open_here(block.folder)
    one = Owner(here)
    one.sign_in(here.code)
    one.ready()

    page = look(one)

    assert {row[3] for row in cards(page)} == {"Bale Knoll 2|", "P1-9"}
    assert said(page).count("A wet bag: 88 ± 9 kg") == 1
    assert ("Bags of Bale Knoll 2 were weighed; of P1-9 too few were, or none, so those stand "
            "in.") in said(page)


def test_the_plan_shows_the_same_and_leads_to_it_alone(owner):
    page = look(owner, path="/plan")

    assert cards(page) == cards(look(owner))
    links = [one.get("href") for one in page.cssselect("a") if "lifts alone" in one.text_content()]
    assert links == [f"/plan/lifts?limit_kg=620&on={ON}"]


@pytest.mark.parametrize("limit", ["", "x", "-5", "0", "nan", "1e9"])
def test_without_a_limit_that_is_one_it_asks_for_it_and_shows_the_piles(owner, limit):
    page = look(owner, limit)

    assert "No hook limit is known" in said(page)
    assert ("is no hook limit" in said(page)) == bool(limit)
    assert re.search(r"Bale Knoll 2 ?46", said(page))
    assert page.cssselect("input#limit_kg")


def test_a_decimal_comma_is_read(owner):
    assert len(cards(look(owner, "620,5"))) == 8


def test_what_flew_is_typed_in_by_the_card_and_the_pile_shrinks(owner):
    number, _, batch, label, bags, *_ = cards(look(owner))[0]
    assert number == "1"
    answer = owner.post("/type/batch", page="/type/batch", day=ON, person="O", batch=batch,
                        stage="lifted", bags=bags, wet_kg="531", note="", **{"from": label})
    assert answer.status < 400
    owner.here.shed.rebuilder.on(date.fromisoformat(ON))
    owner.post("/compute", page="/block", back="/block")

    after = cards(look(owner))

    assert [row[2] for row in after] == [f"L0128-{n}" for n in range(2, 9)]
    assert sum(int(row[4]) for row in after) == 40


def test_a_card_leads_to_the_form_filled_in(owner):
    link = next(one.get("href") for one in look(owner).cssselect("td a"))
    form = html.fromstring(owner.ready(link).text).forms
    fields = next(dict(one.fields) for one in form if one.action == "/type/batch")

    assert (fields["day"], fields["batch"], fields["stage"], fields["bags"], fields["from"]) == (
        ON, "L0128-1", "lifted", "6", "Bale Knoll 2|")


@pytest.mark.parametrize("typed", ["Bale Knoll 2", "Bale Knoll 2|"])
def test_a_label_with_blanks_is_one_label_where_such_a_pile_waits(owner, typed):
    owner.post("/type/batch", page="/type/batch", day=ON, person="O", batch="B-1",
               stage="lifted", bags="6", wet_kg="", note="", **{"from": typed})
    owner.post("/compute", page="/block", back="/block")

    assert sum(int(row[4]) for row in cards(look(owner))) == 40
    waits = html.fromstring(owner.ready("/type/batch").text).cssselect("a.pick[href*='from=']")
    assert "/type/batch?from=Bale%20Knoll%202%7C" in [one.get("href") for one in waits]


def test_no_bag_on_a_pile_is_said(season, open_here):
    block, files = season
    block.take(files)
    here = open_here(block.folder)
    one = Owner(here)
    one.sign_in(here.code)
    one.ready()

    assert "No bag waits on a pile." in said(look(one))


def test_what_was_driven_over_stands_in_the_history_of_its_cells(small, open_here):
    block = small()
    ring = [block.lonlat(*at) for at in ((148, 0), (151, 0), (151, 150), (148, 150), (148, 0))]
    phone = block.phone("p1")
    phone.note("work", datetime(2026, 1, 20, tzinfo=UTC), what="driven", where=None,
               outline={"type": "Polygon", "coordinates": [ring]})
    block.take({"a.handover.zip": phone.pack()})
    here = open_here(block.folder)
    one = Owner(here)
    one.sign_in(here.code)
    one.ready()

    shown = {cell: said(html.fromstring(one.ready(f"/cell/{cell}?on={ON}").text))
             for cell in ("B01", "B02", "C01")}

    assert ["work: driven" in shown[cell] for cell in ("B01", "B02", "C01")] == [True, True, False]


COSTS = """
[costs]
currency = "NZD"
lift_each = 95.0
lift_call_out = 600.0
machine_trip_each = 140.0
machine_bags = 20

[lifts]
hook_limit_kg = 620.0
"""


def test_the_owner_s_limit_and_rates_place_hazard_and_way_are_shown(small, open_here):
    deg = small("for its places").lonlat
    block = small("with rates", gate=tuple(reversed(deg(150, -20))), costs_toml=COSTS)
    block.take({"bags.csv": BAGS.encode(), "scale.csv": SCALE.encode()})
    phone = block.phone("p1")
    for what, name, y in (("pile", "Bale Knoll 2", 250), ("hazard", "wire", 280)):
        lon, lat = deg(150, y)
        phone.note("mark", datetime(2026, 1, 21, tzinfo=UTC), what=what, name=name,
                   where={"lat": lat, "lon": lon, "acc_m": 4, "age_s": 1})
    block.take({"a.handover.zip": phone.pack()})
    here = open_here(block.folder)
    one = Owner(here)
    one.sign_in(here.code)
    one.ready()

    text = said(look(one, ""))

    assert "all lifts cost 1360 NZD, the coming included" in text
    assert "Bale Knoll 2: wire is 30 m away." in text
    assert re.search(r"Bale Knoll 2 ?8 ?760 ?3 ?420 ?270 ?B01 100, B02 100, B03 50", text)
