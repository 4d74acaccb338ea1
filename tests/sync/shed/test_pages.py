"""What each page shows is what `fallow register --json` says, and a ruling is a record."""

import json
import re
import sqlite3
from datetime import UTC, datetime, timedelta

import pytest
from lxml import html
from running_shed import Owner, picked

from sync.shed.browser.cell_page import flag_id
from sync.shed.words import STATE_WORDS

ON = "2026-02-20"


@pytest.fixture
def owner(season, open_here):
    block, files = season
    block.take(files)
    here = open_here(block.folder)
    one = Owner(here)
    one.sign_in(here.code)
    one.ready()
    one.folder, one.here = block.folder, here
    return one


def read(owner, path):
    return html.fromstring(owner.ready(path).text)


def document(owner, on=ON):
    from datetime import date

    return owner.here.shed.rebuilder.on(date.fromisoformat(on)).document


def table_of(page, *, last=False):
    found = page.cssselect("main table.cards")[-1 if last else 0]
    return [[" ".join(box.text_content().split()) for box in row.cssselect("th, td")]
            for row in found.cssselect("tbody tr")]


def test_the_block_page_has_every_cell_with_its_figures(owner):
    page, said = read(owner, f"/block?on={ON}"), document(owner)
    rows = table_of(page)

    assert [row[0].split()[0] for row in rows] == [one["cell"] for one in said["cells"]]
    for row, one in zip(rows, said["cells"], strict=True):
        crop = one["standing_crop_t_ha"]
        assert row[1] == STATE_WORDS[one["state"]]
        assert row[3] == f"{one['open_ha']:.2f}"
        assert row[4] == ("–" if crop is None else
                          f"{crop['value']:.1f} ({crop['low']:.1f}–{crop['high']:.1f})")
        assert row[5] == ("–" if one["may_take_kg"] is None else f"{one['may_take_kg']:.0f}")


def test_the_blocks_totals_stand_on_top(owner):
    text = read(owner, f"/block?on={ON}").text_content()
    block = document(owner)["block"]

    assert f"{block['standing_crop_t']['value']:.1f} t" in text
    assert f"{block['may_take_t']:.1f} t" in text


def test_the_map_has_a_link_for_every_cell_that_says_its_state(owner):
    page, said = read(owner, f"/block?on={ON}"), document(owner)
    links = {one.get("href"): one.get("aria-label") for one in page.cssselect("svg.map a")}

    assert len(links) == len(said["cells"])
    for one in said["cells"]:
        label = links[f"/cell/{one['cell']}?on={ON}"]
        assert label.startswith(one["cell"])
        assert STATE_WORDS[one["state"]] in label


def test_the_key_counts_the_cells_of_each_state(owner):
    page, said = read(owner, f"/block?on={ON}"), document(owner)
    key = {row.cssselect("th")[0].text_content(): int(row.cssselect("td.n")[0].text_content())
           for row in page.cssselect("table.key tr")}

    for state, word in STATE_WORDS.items():
        assert key[word] == sum(one["state"] == state for one in said["cells"])


@pytest.mark.parametrize("number", ["kg", "picked_pct", "rest_ends"])
def test_numbers_in_cells_change_no_fill(owner, number):
    def fills(path):
        return re.findall(r'fill="([^"]+)"', owner.ready(path).text.split("map-room")[1])

    plain = set(fills(f"/block?on={ON}"))

    assert set(fills(f"/block?on={ON}&number={number}")) == plain


def test_filters_and_order_change_only_what_is_shown(owner):
    said = document(owner)
    ready = [one["cell"] for one in said["cells"] if one["state"] == "ready"]
    rows = table_of(read(owner, f"/block?on={ON}&state=ready"))
    by_crop = table_of(read(owner, f"/block?on={ON}&sort=crop&down=1"))
    crops = [float(row[4].split()[0]) for row in by_crop if row[4] != "–"]

    assert [row[0].split()[0] for row in rows] == ready
    assert crops == sorted(crops, reverse=True)
    assert len(by_crop) == len(said["cells"])


def test_the_cells_come_as_csv(owner):
    answer = owner.get(f"/block.csv?on={ON}")

    assert answer.heads["Content-Type"].startswith("text/csv")
    assert "cells-2026-02-20.csv" in answer.heads["Content-Disposition"]
    assert len(answer.text.splitlines()) == 1 + len(document(owner)["cells"])


def test_a_cells_page_has_each_figure_with_its_range_and_records(owner):
    page = read(owner, f"/cell/B02?on={ON}")
    one = next(row for row in document(owner)["cells"] if row["cell"] == "B02")
    facts = {row[0]: row[1:] for row in table_of(page)}

    cover = one["cover_pct"]
    assert facts["cover"][0] == f"{cover['value']:.0f} %"
    assert facts["cover"][1] == f"{cover['low']:.0f}–{cover['high']:.0f}"
    assert f"measured, {one['quadrats']} quadrats" in facts["cover"][2]
    assert facts["standing crop, whole cell"][0] == f"{one['standing_crop_kg']['value']:.0f} kg"
    assert facts["may be taken"][0] == f"{one['may_take_kg']:.0f} kg"
    assert page.cssselect('a[href^="/record/p1-aaaa:"]')


def test_a_cells_page_tells_its_picks_and_quadrats(owner):
    text = read(owner, f"/cell/B02?on={ON}").text_content()

    assert "picked" in text
    assert "quadrat: cover" in text


def test_a_cell_that_is_none_is_not_found(owner):
    answer = owner.get("/cell/Z99")

    assert answer.status == 404
    assert "no cell Z99" in answer.text


def test_a_record_is_shown_as_it_was_received_and_whether_it_counts(owner):
    voided = next(f"p1-aaaa:{r['seq']}" for r in held(owner) if r["kind"] == "void"
                  and r["device"] == "p1-aaaa")
    page = owner.get("/record/p1-aaaa:1").text

    assert "It counts." in page
    assert "outing" not in page or "quadrat" in page
    assert owner.get(f"/record/{voided}").status == 200
    assert owner.get("/record/p9-zzzz:1").status == 404


def held(owner):
    with sqlite3.connect(owner.folder / "journal.sqlite") as db:
        return [json.loads(body) for (body,) in db.execute("SELECT body FROM record")]


def test_of_a_track_no_point_is_shown(small, open_here):
    block = small()
    phone = picked(block)
    phone.note("track", datetime(2025, 11, 10, 20, tzinfo=UTC), t0="2025-11-10T20:00:00.000Z",
               dt_ms=[0, 5000], lat_e7=[-427654321, 17], lon_e7=[1687654321, 19], acc_m=[4, 4])
    block.take({"a.handover.zip": phone.pack()})
    with (block.folder / "block.toml").open("a", encoding="utf-8") as settings:
        settings.write("\n[settings]\ntrack_keep_days = 36500\n")
    here = open_here(block.folder)
    one = Owner(here)
    one.sign_in(here.code)
    page = one.ready(f"/record/p1-aaaa:{len(phone.records)}").text

    assert "2 points" in page
    assert "427654321" not in page


def flags_in(page, where):
    """Give the articles under a head, by id."""
    found, here = {}, ""
    for one in page.cssselect("main h2, main article"):
        if one.tag == "h2":
            here = one.get("id")
        elif here == where:
            found[one.get("id")] = one
    return found


def test_flags_stand_open_with_sentence_certainty_and_records(owner):
    page, said = read(owner, "/flags"), document(owner, today(owner))
    open_ones = flags_in(page, "open")

    assert said["flags"]
    assert set(open_ones) == {flag_id(one["name"]) for one in said["flags"]}
    for one in said["flags"]:
        text = " ".join(open_ones[flag_id(one["name"])].text_content().split())
        assert " ".join(one["why"][1:].rstrip(".").split()) in text
        assert one["how_sure"] in text


def today(owner):
    return owner.here.shed.rebuilder.view().register.on.isoformat()


def rule(owner, name, says, **more):
    form = flags_in(read(owner, "/flags"), "open").get(flag_id(name))
    if form is None:
        form = flags_in(read(owner, "/flags"), "decided")[flag_id(name)]
    seen = form.cssselect('input[name="seen"]')[0].get("value")
    return owner.post("/flags/rule", page="/flags", flag=name, seen=seen, says=says, **more)


def test_a_ruling_is_a_record_with_what_was_seen_and_its_figures(owner):
    flag = document(owner, today(owner))["flags"][0]

    answer = rule(owner, flag["name"], "not_so", note="walked it: no moss was taken")

    record = next(one for one in held(owner) if one["kind"] == "ruling")
    assert answer.status == 303
    assert record["flag"] == flag["name"]
    assert record["says"] == "not_so"
    assert record["person"] == "O"
    assert record["figures"] == flag["figures"]
    assert re.fullmatch("[0-9a-f]{64}", record["seen"])
    assert flag_id(flag["name"]) in flags_in(read(owner, "/flags"), "decided")


def test_a_ruling_may_be_changed_and_both_stay_to_be_seen(owner):
    flag = document(owner, today(owner))["flags"][0]
    rule(owner, flag["name"], "not_so", note="first word")
    rule(owner, flag["name"], "upheld", note="second word")

    article = flags_in(read(owner, "/flags"), "decided")[flag_id(flag["name"])]
    said = [one.text_content() for one in article.cssselect(".rulings li")]
    struck = [one.text_content() for one in article.cssselect(".rulings li s")]

    assert len(said) == 2
    assert "first word" in said[0]
    assert "second word" in said[1]
    assert struck == [said[0]]
    assert document(owner, today(owner))["flags"][0]["ruling"]["says"] == "upheld"


def test_a_flag_that_changed_since_the_page_was_loaded_is_shown_again(owner):
    flag = document(owner, today(owner))["flags"][0]

    answer = owner.post("/flags/rule", page="/flags", flag=flag["name"], seen="0" * 64,
                        says="upheld")

    assert answer.status == 409
    assert "has changed since" in answer.text
    assert not any(one["kind"] == "ruling" for one in held(owner))


@pytest.mark.parametrize("fields", [
    {"says": "maybe"}, {"flag": "early_pick:Z99:2000"}, {"flag": "", "says": "upheld"}])
def test_a_ruling_on_nothing_is_refused(owner, fields):
    flag = document(owner, today(owner))["flags"][0]
    form = flags_in(read(owner, "/flags"), "open")[flag_id(flag["name"])]
    seen = form.cssselect('input[name="seen"]')[0].get("value")

    answer = owner.post("/flags/rule", page="/flags", **{
        "flag": flag["name"], "seen": seen, "says": "upheld", **fields})

    assert answer.status == 409


def test_2026_11_28_a_ruling_by_a_code_of_no_owner_is_refused_not_anothers(owner):
    flag = document(owner, today(owner))["flags"][0]

    answer = rule(owner, flag["name"], "upheld", by="ZZ")

    assert answer.status == 409
    assert "people.toml has no owner of the code ZZ: choose one of O." in answer.text
    assert not any(one["kind"] == "ruling" for one in held(owner))


def test_phones_stand_with_their_holes_and_last_number(owner):
    rows = {row[0]: row for row in table_of(read(owner, "/phones"))}

    assert rows["p1"][3] == str(max(one["seq"] for one in held(owner)
                                    if one["device"] == "p1-aaaa"))
    assert rows["p2"][4] == "none"
    assert rows["p1"][7].startswith("paired")


def test_holes_are_told_by_number(small, open_here):
    block = small()
    phone = picked(block)
    block.take({"a.handover.zip": phone.pack(1, 10), "b.handover.zip": phone.pack(14, 32)})
    here = open_here(block.folder)
    one = Owner(here)
    one.sign_in(here.code)
    one.ready()
    rows = {row[0]: row for row in table_of(read(one, "/phones"))}

    assert rows["p1"][4] == "11–13"


def out_now(small, *, hours, ended=False, help_=False):
    """A block whose picker began an outing some hours ago."""
    block = small()
    phone = block.phone("p1")
    began = datetime.now(UTC) - timedelta(hours=hours)
    phone.note("outing", began, state="start", role="picker", where=None)
    phone.bag(began + timedelta(minutes=10), 150, 150)
    if help_:
        phone.note("check_in", began + timedelta(minutes=20), state="help", where=None)
    if ended:
        phone.note("outing", began + timedelta(minutes=30), state="end", finished=[], where=None)
    block.take({"a.handover.zip": phone.pack()}, now=datetime.now(UTC))
    return block


def not_back(block, open_here):
    here = open_here(block.folder)
    one = Owner(here)
    one.sign_in(here.code)
    return [li.text_content() for li in read(one, "/phones").cssselect("ul.out li")]


def test_who_is_not_back_stands_on_top_with_the_last_place_as_text(small, open_here):
    said = not_back(out_now(small, hours=3), open_here)

    assert len(said) == 1
    assert "MT M. T." in said[0]
    assert "out since" in said[0]
    assert re.search(r"[NS] [0-9.]+ E [0-9.]+", said[0])


def test_a_call_for_help_is_told(small, open_here):
    assert "CALLED FOR HELP" in not_back(out_now(small, hours=3, help_=True), open_here)[0]


@pytest.mark.parametrize(("hours", "ended"), [(3, True), (80, False)])
def test_who_has_ended_or_is_long_forgotten_is_not_out(small, open_here, hours, ended):
    assert not_back(out_now(small, hours=hours, ended=ended), open_here) == []


def test_the_intake_log_is_shown_newest_first_with_refusals(owner):
    owner.send_file("/take", "odd.handover.zip", b"no zip at all", page="/phones")
    rows = table_of(read(owner, "/phones"), last=True)

    assert rows[0][1] == "odd.handover.zip"
    assert rows[0][2].startswith("refused: ")
    assert len(rows) == 6


def test_a_file_taken_by_the_browser_makes_the_register_anew(small, open_here):
    block = small()
    here = open_here(block.folder)
    one = Owner(here)
    one.sign_in(here.code)
    one.ready()
    answer = one.send_file("/take", "p1.handover.zip", picked(block).pack(), page="/phones")
    asked = here.shed.rebuilder.ask()
    here.shed.rebuilder.wait(asked, most_s=30)

    assert "32 new records" in answer.text
    assert "older than the journal" not in one.get("/block").text


def test_an_unsealed_file_is_taken_only_when_the_owner_says_so(small, open_here):
    block = small()
    phone = picked(block)
    data = type(phone)("x-k7f2", block.block.block_id, None, [
        {**record, "device": "x-k7f2"} for record in phone.records]).pack(key=None)
    here = open_here(block.folder)
    one = Owner(here)
    one.sign_in(here.code)

    refused = one.send_file("/take", "x.handover.zip", data, page="/phones")
    taken = one.send_file("/take", "x.handover.zip", data, page="/phones", unsealed="1")

    assert (refused.status, taken.status) == (422, 200)


def test_a_register_older_than_the_journal_says_so_and_is_built_on_request(small, open_here):
    block = small()
    here = open_here(block.folder)
    one = Owner(here)
    one.sign_in(here.code)
    one.ready()
    block.take({"a.handover.zip": picked(block).pack()})

    assert "older than the journal" in one.get("/block").text

    one.post("/compute", page="/block", back="/block")

    assert "older than the journal" not in one.ready("/block").text


def test_the_plan_lists_what_may_be_picked_and_what_to_survey(owner):
    page, said = read(owner, f"/plan?on={ON}"), document(owner)
    tables = page.cssselect("main table.cards")
    ready = {one["cell"] for one in said["cells"] if one["state"] == "ready"}
    unsurveyed = {one["cell"] for one in said["cells"] if one["state"] == "unsurveyed"}
    shown = [{th.text_content().strip() for th in table.cssselect("tbody th")}
             for table in tables]

    assert ready in shown
    assert unsurveyed in shown


def test_the_report_is_saved_as_one_file(owner):
    answer = owner.get(f"/report.html?on={ON}")

    assert "report-2026-02-20.html" in answer.heads["Content-Disposition"]
    assert "<svg" in answer.text
    assert "http" not in re.sub(r'xmlns="[^"]+"', "", answer.text)


def test_a_day_that_is_none_is_told_and_today_is_shown(owner):
    answer = owner.get("/block?on=yesterday")

    assert answer.status == 200
    assert "is no day such as" in answer.text


def test_pages_speak_spanish_once_asked_to(owner):
    owner.post("/language", page="/help", language="es", back="/flags")
    page = read(owner, "/flags")

    assert page.get("lang") == "es"
    assert "Flags" not in page.cssselect("h1")[0].text_content()


@pytest.mark.parametrize("back", ["https://elsewhere.example", "//elsewhere.example",
                                  "/\\elsewhere.example", "javascript:x"])
def test_no_form_leads_away_from_the_shed(owner, back):
    for path, more in (("/language", {"language": "es"}), ("/compute", {})):
        answer = owner.post(path, page="/help", back=back, **more)

        assert answer.heads["Location"] == "/block"
