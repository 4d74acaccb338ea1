"""`fallow why --flag` as a person types it, on what came in by hand-over files."""

from datetime import UTC, datetime, timedelta

import pytest

PICKED = datetime(2025, 11, 10, 20, tzinfo=UTC)
EARLY = datetime(2026, 1, 20, 20, tzinfo=UTC)
OLD, NEW = PICKED - timedelta(days=2), EARLY - timedelta(days=3)


def stamped(at):
    return at.strftime("%Y-%m-%dT%H:%M:%S.000Z")


def pick(phone, at, person, made_at, presses, bags):
    phone.note("outing", at, person, state="start", role="picker", where=None,
               sheet={"id": "0a1b2c3d", "made_at": stamped(made_at)})
    for i in range(presses):
        phone.bag(at + timedelta(minutes=20 * i + 20), 150, 150, bags=bags, person=person)
    phone.note("outing", at + timedelta(hours=7), person, state="end", finished=["B02"],
               where=None)


@pytest.fixture
def block(small):
    """B02 picked by p1 in November and again by p1 and p2 in January of another season."""
    made = small(season_start="01-01")
    p1, p2 = made.phone("p1"), made.phone("p2", key=bytes(range(1, 33)))
    for i, plot in enumerate(("001", "002", "003", "004", "005", "006", "007", "008")):
        p1.note("quadrat", PICKED - timedelta(days=30, minutes=-i), "SW", plot=plot, where=None,
                when="survey", side_m=0.5, cover_pct=60, depth_mm=[80, 95, 70])
    pick(p1, PICKED, "MT", OLD, 20, 5)
    made.take({"a.handover.zip": p1.pack()}, now=PICKED + timedelta(hours=9))
    first = len(p1.records)
    pick(p1, EARLY, "MT", OLD, 3, 2)
    pick(p2, EARLY, "RK", NEW, 3, 2)
    made.take({"b.handover.zip": p1.pack(first + 1), "c.handover.zip": p2.pack()},
              now=EARLY + timedelta(hours=9))
    return made


def test_it_answers_a_dispute_by_the_sheets_as_they_were_made_then(fallow, block):
    code, out, _ = fallow("why", block.folder, "--flag", "early_pick:b02", "--on", "2026-02-20")
    said = " ".join(out.split())
    assert code == 0
    assert "12 bags in 6 groups" in said
    assert "p1-aaaa: the sheet of 9 Nov 2025 (past its last good day) showed B02" in said
    assert "So the phone could not know" in said
    assert ("p2-aaaa: the sheet of 18 Jan 2026 showed B02 resting that day, rest ends 11 Nov 2030"
            in said)
    assert "So the phone did know that B02 was resting." in said
    assert max(map(len, out.splitlines())) <= 100


def test_before_the_bags_came_in_there_was_no_such_flag(fallow, block):
    code, out, _ = fallow("why", block.folder, "--flag", "early_pick:B02:2026", "--on",
                          "2026-02-20", "--known-by", stamped(PICKED + timedelta(hours=10)))
    assert code == 1
    assert out == ""


def test_as_a_page_into_a_file(fallow, block, tmp_path):
    page = tmp_path / "case.html"
    code, out, err = fallow("why", block.folder, "--flag", "early_pick:B02:2026", "--html",
                            "--out", page, "--on", "2026-02-20")
    assert (code, out) == (0, "")
    assert str(page) in err
    text = page.read_text()
    assert text.startswith("<!doctype html>")
    assert "M. T." not in text


def test_an_unknown_flag_ends_with_1_and_names_the_nearest(fallow, block):
    code, _, err = fallow("why", block.folder, "--flag", "early:B02", "--on", "2026-02-20")
    assert code == 1
    assert "nearest: early_pick:B02:2026" in err


@pytest.mark.parametrize("words", [(), ("B02", "--flag", "early_pick:B02"), ("B02", "--html")])
def test_neither_both_or_a_cell_as_a_page_is_wrong_usage(fallow, block, words):
    assert fallow("why", block.folder, *words)[0] == 2


def test_a_cell_is_told_as_before(fallow, block):
    code, out, _ = fallow("why", block.folder, "b02", "--on", "2026-02-20")
    assert code == 0
    assert "Flag early_pick:B02:2026 (sure)" in out


def test_the_page_for_a_landowner_goes_to_a_file(fallow, block, tmp_path):
    page = tmp_path / "land.html"
    code, out, err = fallow("report", block.folder, "--land", "--on", "2026-02-20", "--out", page)
    assert (code, out) == (0, "")
    assert str(page) in err
    text = page.read_text()
    assert "what the ground yields and how it is kept" in text
    assert "M. T." not in text


def test_it_earns_by_the_owners_own_price_alone(fallow, block, tmp_path):
    page, toml = tmp_path / "land.html", block.folder / "block.toml"
    before = toml.read_text()
    toml.write_text(before + '\n[costs]\ncurrency = "NZD"\nsell_per_kg = 30\npicking_per_kg = 9\n')
    assert fallow("report", block.folder, "--land", "--on", "2026-02-20", "--out", page)[0] == 0
    assert "a year of sales" in page.read_text()
    toml.write_text(before + '\n[costs]\nsell_per_kg = -1\npicking_per_kg = "much"\n')
    code, _, err = fallow("report", block.folder, "--land", "--on", "2026-02-20")
    assert code == 2
    assert "[costs] sell_per_kg = -1" in err
    assert "picking_per_kg" in err
