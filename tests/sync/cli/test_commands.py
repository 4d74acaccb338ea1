"""The command's words, as a person types them."""

import json
from datetime import UTC, date, datetime, timedelta
from importlib.resources import files
from zoneinfo import ZoneInfo

import jsonschema
import pytest

from fieldapp.ground import answer, unpack_sheet
from fieldapp.record import Problem, Where
from sync.cli import app
from sync.cli.shown import run
from sync.disk.load import load_inputs
from sync.register.build import build


def schema(name: str) -> dict:
    text = (files("sync.report") / "schemas" / f"{name}.schema.json").read_text()
    return json.loads(text)


@pytest.fixture
def taken(season):
    made, shelf = season
    made.take(shelf)
    return made


def test_every_command_has_help(fallow):
    code, out, _ = fallow("--help")
    assert code == 0
    words = ["demo", "new", "pair", "take", "aside", "form", "ground", "register", "why", "rule",
             "field", "report"]
    for word in words:
        assert word in out
        code, page, _ = fallow(word, "--help")
        assert code == 0
        assert "Usage" in page


def test_wrong_usage_ends_with_2(fallow):
    assert fallow("bogus")[0] == 2
    assert fallow("register")[0] == 2


def test_a_folder_without_a_block_ends_with_3(fallow, tmp_path):
    code, _, err = fallow("register", tmp_path)
    assert code == 3
    assert "fallow new" in err


def test_wrong_settings_are_all_named_at_once_and_end_with_2(fallow, taken):
    path = taken.folder / "block.toml"
    text = path.read_text().replace("rest_months = 60", 'rest_months = "five"')
    path.write_text(text.replace('zone = "Pacific/Auckland"', 'zone = "Middle/Nowhere"'))

    code, _, err = fallow("register", taken.folder)

    assert code == 2
    assert "rest_months = 'five'" in err
    assert "Middle/Nowhere" in err


def test_the_register_as_json_fits_its_schema_and_comes_out_the_same_twice(fallow, taken):
    first = fallow("register", taken.folder, "--on", "2026-02-20", "--json")
    again = fallow("register", taken.folder, "--on", "2026-02-20", "--json")
    assert first[0] == 0
    assert first == again
    jsonschema.validate(json.loads(first[1]), schema("register"))


def test_on_leaves_out_what_happened_after_the_day(fallow, taken):
    def cell(day: str, name: str) -> dict:
        document = json.loads(fallow("register", taken.folder, "--on", day, "--json")[1])
        return next(row for row in document["cells"] if row["cell"] == name)

    assert cell("2025-11-01", "B02")["last_picked"] is None
    assert cell("2025-11-01", "B02")["state"] == "ready"
    assert cell("2026-02-20", "B02")["last_picked"]["from"] == "2025-11-11"
    assert cell("2026-02-20", "B02")["state"] == "resting"
    assert cell("2025-06-01", "B02")["state"] == "unsurveyed"


def test_known_by_leaves_out_what_arrived_later(fallow, season):
    made, shelf = season
    first = "a.handover.zip"
    made.take({first: shelf[first]}, now=datetime(2026, 1, 5, tzinfo=UTC))
    made.take({name: data for name, data in shelf.items() if name != first})

    def picked(*known: str) -> object:
        out = fallow("register", made.folder, "--on", "2026-02-20", "--json", *known)[1]
        document = json.loads(out)
        return next(r for r in document["cells"] if r["cell"] == "C01")["picked_kg"]

    assert picked() is not None
    assert picked("--known-by", "2026-01-10T00:00:00Z") is None


def test_why_names_the_records_behind_a_figure(fallow, taken):
    code, out, _ = fallow("why", taken.folder, "b02", "--on", "2026-02-20")
    assert code == 0
    assert "p1-aaaa:" in out
    assert "rest ends 2030-11-11" in out
    assert "Standing crop on 2026-02-20" in out


def test_a_ruling_stands_until_the_flag_changes(fallow, taken):
    name = next(
        f["name"] for f in json.loads(
            fallow("register", taken.folder, "--on", "2026-02-20", "--json")[1])["flags"]
        if f["rule"] == "number_twice"
    )
    code, _, err = fallow("rule", taken.folder, name, "not_so", "--note", "copied phone")
    assert code == 0, err
    flags = json.loads(fallow("register", taken.folder, "--json")[1])["flags"]
    ruling = next(f["ruling"] for f in flags if f["name"] == name)
    assert ruling["says"] == "not_so"
    assert ruling["note"] == "copied phone"
    assert ruling["stands"] is True


def test_2026_11_28_a_ruling_by_nobody_known_is_written_and_said(fallow, taken):
    flags = json.loads(fallow("register", taken.folder, "--json")[1])["flags"]
    words = ("rule", taken.folder, flags[0]["name"], "not_so")
    code, _, err = fallow(*words, "--by", "ZZ")

    assert code == 0
    assert "--by ZZ: people.toml has nobody of that code" in " ".join(err.split())
    assert "ruled not_so, as shed:" in err
    assert "nobody of that code" not in fallow(*words, "--by", "O")[2]


def test_a_set_aside_record_is_listed_and_mended_by_a_shed_record(fallow, season, tmp_path):
    made, _ = season
    phone = made.phone("p7", "cccc", key=bytes(range(3, 35)))
    phone.bag(datetime(2026, 1, 21, 22, tzinfo=UTC), 150, 50, bags=41)
    (taken,) = made.take({"odd.handover.zip": phone.pack()})
    assert len(taken.aside) == 1

    code, out, _ = fallow("aside", made.folder)
    assert code == 1
    assert "odd.handover.zip:1\tp7-cccc:1\tbags\t41" in out

    form = tmp_path / "mend.csv"
    form.write_text(
        "form,row,kind,day,person,bags,instead_of\nmendx,1,bag,2026-01-25,O,4,p7-cccc:1\n")
    code, out, err = fallow("take", made.folder, form)
    assert code == 0, err
    assert fallow("aside", made.folder)[0] == 0
    document = json.loads(fallow("register", made.folder, "--on", "2026-02-20", "--json")[1])
    cell = next(row for row in document["cells"] if row["cell"] == "B01")
    assert cell["picked_kg"]["value"] == 28, "4 bags of 7 kg, where the phone was"


def test_a_form_row_counts_once_and_a_changed_one_is_refused(fallow, season, tmp_path):
    made, _ = season
    form = tmp_path / "paper.csv"
    form.write_text("form,row,kind,day,person,bags,cell\nf2345,1,bag,2026-01-21,O,4,B01\n")
    assert fallow("take", made.folder, form)[0] == 0
    code, out, _ = fallow("take", made.folder, form)
    assert code == 0
    assert "0 new records, 1 already there" in out

    form.write_text("form,row,kind,day,person,bags,cell\nf2345,1,bag,2026-01-21,O,5,B01\n")
    code, _, err = fallow("take", made.folder, form)
    assert code == 1
    assert "line 2" in err
    assert "bags = 5" in err
    assert fallow("take", "--mend", made.folder, form)[0] == 0
    assert fallow("take", "--mend", made.folder, form)[1].count("1 already there") == 1


def test_new_refuses_rules_left_out_and_says_why(fallow, tmp_path):
    outline = tmp_path / "o.geojson"
    outline.write_text('{"type": "Polygon", "coordinates": []}')
    code, _, err = fallow("new", tmp_path / "b", "--outline", outline, "--keep-pct", "30")
    assert code == 2
    assert "--rest-months is missing" in err
    assert "--recovery-years is missing" in err
    assert not (tmp_path / "b").exists()


def test_csv_and_geojson_hold_every_cell(fallow, taken):
    csv = fallow("register", taken.folder, "--on", "2026-02-20", "--csv")[1]
    assert len(csv.splitlines()) == 10
    assert csv.startswith("cell,area_ha,open_ha")
    geo = json.loads(fallow("register", taken.folder, "--on", "2026-02-20", "--geojson")[1])
    assert geo["type"] == "FeatureCollection"
    assert [f["id"] for f in geo["features"]][:2] == ["A01", "A02"]


def test_a_ground_sheet_is_read_by_the_phone_it_is_sealed_for(fallow, taken, tmp_path):
    code, _, err = fallow("ground", taken.folder, "p1", "--out", tmp_path)
    assert code == 0, err
    key = bytes(range(32))
    sheet = unpack_sheet((tmp_path / "p1.sheet.zip").read_bytes(), key=key)
    assert sheet.held == ((1, 38),)
    lon, lat = taken.lonlat(150, 150)
    now = sheet.made_at + timedelta(hours=1)
    found = answer(sheet, Where(lat, lon, 1, 4.0, 0.0, False), now=now,
                   zone=ZoneInfo(sheet.zone))
    assert found.cell == "B02"
    assert found.state == "resting"


def test_what_a_new_version_understands_is_taken_again_with_its_first_arrival(
    fallow, season, monkeypatch
):
    made, _ = season
    phone = made.phone("p8", "dddd", key=bytes(range(4, 36)))
    phone.bag(datetime(2026, 1, 21, 22, tzinfo=UTC), 150, 50, bags=4)
    stricter = Problem("bags", 4, "an older program knew no four")
    monkeypatch.setattr("sync.intake.check.problems", lambda _: (stricter,))
    (taken,) = made.take({"new.handover.zip": phone.pack()})
    assert len(taken.aside) == 1
    code, out, _ = fallow("take", made.folder, "--again")
    assert code == 1
    assert "0 pass now, 1 still wait" in out

    monkeypatch.undo()
    monkeypatch.setattr("sys.argv", ["fallow", "take", str(made.folder), "--again"])
    assert run(app) == 0
    register = build(load_inputs(made.folder), on=date(2026, 2, 20))
    assert list(register.merged.numbers["p8-dddd"]) == [1]
    assert sum(p.bag.bags for p in register.known.placed if p.bag.device == "p8-dddd") == 4


def test_a_phone_whose_clock_is_ahead_is_told_of(fallow, season):
    made, _ = season
    phone = made.phone("p8", "dddd", key=bytes(range(4, 36)))
    phone.note("check_in", datetime(2031, 1, 1, tzinfo=UTC), state="fine", where=None)
    (taken,) = made.take({"ahead.handover.zip": phone.pack()})
    assert any("dated after tomorrow" in sentence for sentence in taken.told)


def test_2026_11_25_the_table_goes_to_a_file_and_says_what_waits(fallow, season, tmp_path):
    made, _ = season
    form = tmp_path / "odd.csv"
    head = "form,row,kind,day,person,clip,cut,dry_g"
    form.write_text(f"{head}\nclipx,1,clip,2025-07-01,O,T-1,plug,40\n")
    fallow("take", made.folder, form)
    out = tmp_path / "register.txt"
    code, printed, _ = fallow("register", made.folder, "--on", "2026-02-20", "--out", out)
    assert (code, printed) == (0, "")
    assert "Test Mire on 2026-02-20" in out.read_text()
    assert "clip T-1 waits: " in out.read_text()


def test_2026_11_25_a_refused_block_leaves_nothing_for_the_next(fallow, small, tmp_path):
    outline = small("model").folder / "outline.geojson"
    words = ("--outline", outline, "--rest-months", 60, "--recovery-years", 5,
             "--living-layer-mm", 40, "--epsg", 2193, "--zone", "Pacific/Auckland")
    target = tmp_path / "second"
    assert fallow("new", target, *words, "--keep-pct", 130, "--closures", outline)[0] == 2
    assert not list(target.glob("*.geojson"))
    assert fallow("new", target, *words, "--keep-pct", 30)[0] == 0


def test_2026_11_25_a_form_never_overwrites_a_filled_one(fallow, season, tmp_path):
    made, _ = season
    filled = tmp_path / "filled.csv"
    filled.write_text("mine")
    assert fallow("form", made.folder, "bag", "--out", filled)[0] == 2
    assert filled.read_text() == "mine"


def test_the_report_is_one_page_to_stdout_or_a_file(fallow, taken, tmp_path):
    code, page, _ = fallow("report", taken.folder, "--on", "2026-02-20")
    assert code == 0
    assert page.startswith("<!doctype html>")
    assert "Ground classes by their sample" in page
    code, out, err = fallow("report", taken.folder, "--on", "2026-02-20", "--out", tmp_path / "r")
    assert (code, out) == (0, "")
    assert (tmp_path / "r").read_text(encoding="utf-8") == page
    assert "written to" in err
    assert fallow("report", tmp_path / "nowhere")[0] == 3


def test_whose_second_readings_are_dots_is_read_and_a_wrong_word_is_named(fallow, taken):
    path = taken.folder / "people.toml"
    path.write_text(path.read_text() + '[SW]\nname = "S. W."\ncounts_dots = true\n')
    (person,) = [p for p in load_inputs(taken.folder).block.people if p.code == "SW"]
    assert person.counts_dots
    path.write_text(path.read_text().replace("counts_dots = true", 'counts_dots = "yes"'))
    code, _, err = fallow("register", taken.folder)
    assert code == 2
    assert "[SW] counts_dots = 'yes': write true or false" in err
