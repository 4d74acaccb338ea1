"""The plan's sections on what is watched: as the commands tell them, cut where long, in words."""

import json

import pytest
from lxml import html
from running_shed import Owner

ON = "2026-02-20"
WATER = "".join(
    f"w1,{2 * row + late + 1},quadrat,{day},MT,{row + 1:03d},survey,0.5,50,,{4 + 9 * late},{mm}\n"
    for row in range(12) for late, day, mm in ((0, "2022-07-03", -100), (1, "2023-07-03", -140)))
FORM = ("form,row,kind,day,person,plot,when,side_m,cover_pct,depth_mm,scrub_pct,water_table_mm\n"
        + WATER)
WORK = "form,row,kind,day,person,what,cells,hours\n" + "".join(
    f"w2,{row},work,2025-08-{row:02d},MT,scrub_cut,A01,4\n" for row in range(1, 16))


@pytest.fixture
def owner(season, open_here):
    block, files = season
    block.take({**files, "w.csv": FORM.encode(), "v.csv": WORK.encode()})
    here = open_here(block.folder)
    one = Owner(here)
    one.sign_in(here.code)
    one.ready()
    one.folder = block.folder
    return one


def read(owner, path=f"/plan?on={ON}"):
    return html.fromstring(owner.ready(path).text)


def table(page, name):
    (found,) = page.cssselect(f"#{name}-table")
    return [[" ".join(box.text_content().split()) for box in row.cssselect("th, td")]
            for row in found.cssselect("tbody tr")]


def section(page, name):
    (head,) = page.cssselect(f"h2#{name}")
    return " ".join(head.getparent().text_content().split())


def test_the_plan_has_each_section_and_says_where_there_is_nothing(owner):
    page = read(owner)
    for name in ("condition", "work", "trials", "recovery", "survey"):
        assert section(page, name)
    assert "No trial was drawn yet." in section(page, "trials")


def test_condition_is_told_by_cell_and_class_with_the_changes(owner):
    page = read(owner)
    first = table(page, "condition")[0]
    assert first[4] == "+9.0"
    assert first[8] == "−40"
    assert table(page, "classes")[0][1] == "+9.0"


def test_cells_that_are_flagged_come_first_and_are_marked(owner):
    rows = table(read(owner, f"/plan?on={ON}&all=condition"), "condition")
    marks = ["⚑" in row[0] for row in rows]
    assert any(marks)
    assert marks == sorted(marks, reverse=True)


def test_work_is_told_with_hours_and_where_to_write_what_an_hour_costs(owner):
    page = read(owner)
    assert table(page, "works")[0][1:4] == ["scrub cut", "A01", "4"]
    assert table(page, "hours")[0][:2] == ["scrub cut", "2025/26"]
    assert "work_per_hour under [costs]" in section(page, "work")


def test_the_cost_is_told_once_the_owner_wrote_a_rate(owner):
    toml = owner.folder / "block.toml"
    toml.write_text(toml.read_text() + '\n[costs]\ncurrency = "NZD"\nwork_per_hour = 40\n')
    assert table(read(owner, "/plan?on=2026-02-19"), "hours")[0][-2] == "2400"


def test_the_survey_tells_what_was_drawn_read_and_expected_and_who_walks_what(owner):
    path = owner.folder / "plots.json"
    value = json.loads(path.read_text())
    plots = [one["plot"] for one in value["draws"][0]["plots"]]
    value["draws"].append({
        "draw": 2, "drawn_on": "2022-07-01", "seed": 7, "how": "drawn", "when": "survey",
        "plots": [], "walked_again": [{"plot": one, "cell": "A01", "chance": 1.0}
                                      for one in plots[:2]],
        "expected": {"block_cv_now": 0.081, "block_cv_then": 0.064, "opened": 3,
                     "opened_kg": 1234},
        "walks": [{"surveyor": 1, "day": 1, "plots": plots[:2], "hours": 2.5}]})
    path.write_text(json.dumps(value))
    page = read(owner, "/plan?on=2026-02-19")
    said = section(page, "survey")
    assert "seed 7" in said
    assert "2 of the plots are read" in said
    early = section(read(owner, "/plan?on=2022-07-02"), "survey")
    assert "0 of the plots are read" in early
    assert "from ± 8.1 to ± 6.4 %" in said
    assert "3 cells with 1234 kg" in said
    assert table(page, "walks") == [["surveyor 1, day 1", " ".join(plots[:2]), "2.5"]]


def test_a_long_table_is_cut_with_a_link_to_all_of_it(owner):
    page = read(owner)
    first, (link,) = table(page, "works"), page.cssselect('a[href*="all=works"]')
    assert link.text_content() == "Show all 15 rows"
    assert "10 of 15 rows." in section(page, "work")
    whole = read(owner, link.get("href").split("#")[0])
    assert len(table(whole, "works")) == 15
    assert table(whole, "works")[:10] == first
    assert whole.cssselect('a[href*="all="]') == []


def test_the_report_has_the_maps_of_scrub_and_water_where_they_are_asked_for(owner):
    page = read(owner, f"/report?on={ON}")
    assert "Map: Scrub" not in page.text_content()
    (link,) = page.cssselect('a[href*="maps=1"]')
    page = read(owner, link.get("href"))
    for title in ("Map: Scrub, in % of the ground", "Map: Change of the water table"):
        assert title in page.text_content()
    (save,) = page.cssselect('a[href*="/report.html"]')
    assert "maps=1" in save.get("href")
    assert "Map: Scrub" in owner.ready(save.get("href")).text


def test_the_registers_own_sentences_are_marked_as_english(owner):
    for head in read(owner).cssselect("h2#work, h2#recovery"):
        said = head.getparent().cssselect("p[lang=en]")
        assert said


def test_2026_11_28_figures_days_and_work_of_the_tables_are_said_in_spanish(owner):
    """They were read back out of English cells, and their points stayed points."""
    owner.post("/language", page=f"/plan?on={ON}", language="es")
    page = read(owner)

    assert table(page, "condition")[0][4] == "+9,0"
    assert [row[1:] for row in table(page, "classes")] == [
        ["+9,0", "+9,0 a +9,0", "12", "0", "0 a 0", "12"]]
    assert table(page, "works")[0][:2] == ["15 ago 2025", "matorral cortado"]
    assert table(page, "hours")[0][3] == "14,98"
