"""What is wrong in the owner's files is named with file, key and value, all of it at once."""

import json
from datetime import date

import pytest

from sync.block import Costs, bag_kg_on, rule_on
from sync.disk.folder import load_block
from sync.disk.load import load_inputs
from sync.errors import DiskError, FallowError, GeometryError, SettingsError
from sync.geometry.crs import projection
from sync.geometry.ground import ground_on
from sync.register.build import sums_of

BLOCK = "block.toml"
BLOCK_TOML = """\
format = 1
id = "testblok"
name = "Test Mire"
zone = "Pacific/Auckland"
epsg = 2193
season_start = "07-01"
declination_deg = 0.0
[grid]
origin_e = 1329400.0
origin_n = 5249300.0
cell_m = 100.0
[[rules]]
rest_months = 60
recovery_years = 5.0
living_layer_mm = 40.0
keep_pct = 30.0
[[bags]]
type = "sack"
dry_kg = 7.0
"""
RING = [[169.69, -42.86], [169.70, -42.86], [169.70, -42.85], [169.69, -42.85], [169.69, -42.86]]


@pytest.fixture
def folder(tmp_path):
    """A block folder as small as one can be."""
    (tmp_path / BLOCK).write_text(BLOCK_TOML)
    (tmp_path / "outline.geojson").write_text(json.dumps({"features": [
        {"geometry": {"type": "Polygon", "coordinates": [RING]}, "properties": {}}]}))
    (tmp_path / "people.toml").write_text('[MT]\nname = "M. T."\n')
    return tmp_path


def change(folder, file, old, new):
    path = folder / file
    text = path.read_text()
    assert old in text, f"{old!r} is not in {file}"
    path.write_text(text.replace(old, new, 1))


def add(folder, file, text):
    path = folder / file
    path.write_text((path.read_text() if path.is_file() else "") + "\n" + text + "\n")


def mistakes(folder):
    with pytest.raises(SettingsError) as refused:
        load_block(folder)
    return refused.value.mistakes


def one_mistake(folder, *words):
    found = mistakes(folder)
    assert len(found) == 1, found
    missing = [word for word in words if word not in found[0]]
    assert not missing, found[0]
    return found[0]


def test_a_folder_as_it_was_made_is_read(small):
    block, tunables = load_block(small().folder)
    assert (block.block_id, block.zone, block.epsg) == ("testblok", "Pacific/Auckland", 2193)
    assert block.rules[0].rest_months == 60
    assert [person.code for person in block.people] == ["O", "MT", "RK"]
    assert len(block.plots) == 12
    assert tunables.touch_pct == 10.0


def test_no_folder_is_no_block(tmp_path):
    with pytest.raises(DiskError, match="fallow new"):
        load_block(tmp_path / "nowhere")


@pytest.mark.parametrize(("old", "new", "key", "value"), [
    ('id = "testblok"', "id = 7", "id", "7"),
    ('id = "testblok"', 'id = " "', "id", "' '"),
    ('zone = "Pacific/Auckland"', 'zone = "Pacific/Aukland"', "zone", "'Pacific/Aukland'"),
    ('zone = "Pacific/Auckland"', 'zone = "Pacific"', "zone", "'Pacific'"),
    ('zone = "Pacific/Auckland"', 'zone = "../zone"', "zone", "'../zone'"),
    ("epsg = 2193", "epsg = 2193.5", "epsg", "2193.5"),
    ("epsg = 2193", "epsg = true", "epsg", "True"),
    ('season_start = "07-01"', 'season_start = "02-29"', "season_start", "'02-29'"),
    ('season_start = "07-01"', 'season_start = "13-01"', "season_start", "'13-01'"),
    ('season_start = "07-01"', 'season_start = "W27"', "season_start", "'W27'"),
    ('season_start = "07-01"', "season_start = 701", "season_start", "701"),
    ("declination_deg = 0.0", "declination_deg = 200", "declination_deg", "200"),
    ("declination_deg = 0.0", "declination_deg = nan", "declination_deg", "nan"),
    ("declination_deg = 0.0", f"declination_deg = 1{'0' * 400}", "declination_deg", "1000"),
    ("declination_deg = 0.0", "probes = 0", "probes", "0"),
    ("declination_deg = 0.0", "frame_m = 5", "frame_m", "5"),
    ("declination_deg = 0.0", "check_in_min = -1", "check_in_min", "-1"),
    ("declination_deg = 0.0", 'lang = "de"', "lang", "'de'"),
    ("declination_deg = 0.0", "gate = [170.0, -43.0]", "gate", "[170.0, -43.0]"),
    ("declination_deg = 0.0", "gate = [1]", "gate", "[1]"),
    ("declination_deg = 0.0", 'gate = "here"', "gate", "'here'"),
    ("declination_deg = 0.0", f"gate = [1{'0' * 400}, 0]", "gate", "1000"),
    ("origin_e = 1329400.0", 'origin_e = "here"', "origin_e", "'here'"),
    ("cell_m = 100.0", "cell_m = 24", "cell_m", "24"),
    ("rest_months = 60", "rest_months = 0", "rest_months", "0"),
    ("rest_months = 60", "rest_months = 60.5", "rest_months", "60.5"),
    ("recovery_years = 5.0", "recovery_years = 0", "recovery_years", "0"),
    ("living_layer_mm = 40.0", "living_layer_mm = -1", "living_layer_mm", "-1"),
    ("keep_pct = 30.0", "keep_pct = 101", "keep_pct", "101"),
    ("dry_kg = 7.0", "dry_kg = 0", "dry_kg", "0"),
    ('type = "sack"', "type = 1", "type", "1"),
])
def test_a_wrong_value_of_block_toml_is_named_with_its_key(folder, old, new, key, value):
    change(folder, BLOCK, old, new)
    one_mistake(folder, BLOCK, key, value)


@pytest.mark.parametrize(("line", "key"), [
    ('id = "testblok"', "id"), ('name = "Test Mire"', "name"), ("epsg = 2193", "epsg"),
    ("origin_n = 5249300.0", "origin_n"), ("rest_months = 60", "rest_months"),
    ("keep_pct = 30.0", "keep_pct"), ("dry_kg = 7.0", "dry_kg")])
def test_what_is_missing_is_named(folder, line, key):
    change(folder, BLOCK, line, "")
    one_mistake(folder, BLOCK, f"{key} is missing")


@pytest.mark.parametrize(("old", "new", "key"), [
    ("\n[[rules]]\n", "\n[[rulez]]\n", "[[rules]]"),
    ("\n[[bags]]\n", "\n[[bagz]]\n", "[[bags]]")])
def test_a_block_without_rules_or_bags_is_told_what_to_write(folder, old, new, key):
    change(folder, BLOCK, old, new)
    one_mistake(folder, BLOCK, key)


@pytest.mark.parametrize(("text", "words"), [
    ('[settings]\ntouch = 10', ("[settings]", "touch", "no such setting")),
    ('[settings]\ntouch_pct = "ten"', ("touch_pct", "'ten'")),
    ('[settings]\ncomeback = 1.0', ("comeback", "1.0", "0.5", "0.95")),
    ('[settings]\nprior_df = 0', ("prior_df", "0")),
    ('[settings]\nsurvey_days = inf', ("survey_days", "inf")),
    (f"[settings]\nsurvey_days = 1{'0' * 400}", ("survey_days", "1000")),
])
def test_a_wrong_setting_is_named(folder, text, words):
    add(folder, BLOCK, text)
    one_mistake(folder, BLOCK, *words)


def test_all_mistakes_of_all_files_come_at_once(folder):
    change(folder, BLOCK, "rest_months = 60", "rest_months = 0")
    change(folder, BLOCK, "epsg = 2193", 'epsg = "x"')
    add(folder, BLOCK, "[settings]\ntouch = 10")
    add(folder, "people.toml", '[XY]\nrole = "king"')
    add(folder, "permits.toml", '[[permit]]\npermit = "TM-1"\nkeep_pct = 130')
    (folder / "closures.geojson").write_text('{"features": 7}')
    found = mistakes(folder)
    assert len(found) == 6
    for words in ("rest_months = 0", "epsg = 'x'", "touch=10", "people.toml [XY] role = 'king'",
                  "permits.toml [[permit]] number 1 keep_pct = 130", "closures.geojson"):
        assert any(words in one for one in found), words


def test_a_file_that_is_no_toml_is_named_with_its_line(folder):
    add(folder, BLOCK, "this is not toml")
    assert "line" in one_mistake(folder, BLOCK)


@pytest.mark.parametrize("file", ["outline.geojson", "closures.geojson", "plots.json"])
def test_a_file_that_is_no_json_is_named(folder, file):
    (folder / file).write_text("{")
    one_mistake(folder, file, "JSON")


def test_a_block_without_an_outline_is_told_so(folder):
    (folder / "outline.geojson").unlink()
    one_mistake(folder, "outline.geojson")


@pytest.mark.parametrize(("feature", "word"), [
    (7, "Polygon"), ({"type": "Feature"}, "Polygon"),
    ({"geometry": {"type": "Point", "coordinates": [0, 0]}}, "Polygon"),
    ({"geometry": {"type": "Polygon", "coordinates": []}, "properties": {"from": "soon"}},
     "from = 'soon'"),
    ({"geometry": {"type": "Polygon", "coordinates": []}, "properties": "x"}, "properties"),
    ({"geometry": {"type": "Polygon", "coordinates": []},
      "properties": {"from": "2026-02-01", "until": "2026-01-01"}}, "until = '2026-01-01'"),
])
def test_a_wrong_feature_is_named_with_its_number(folder, feature, word):
    good = {"type": "Feature", "properties": None,
            "geometry": {"type": "Polygon", "coordinates": []}}
    (folder / "closures.geojson").write_text(json.dumps(
        {"type": "FeatureCollection", "features": [good, feature]}))
    one_mistake(folder, "closures.geojson feature 2", word)


def closed(folder, coordinates):
    (folder / "closures.geojson").write_text(json.dumps({"type": "FeatureCollection", "features": [
        {"geometry": {"type": "Polygon", "coordinates": coordinates}, "properties": {}}]}))
    block, tunables = load_block(folder)
    return ground_on(block, projection(block.epsg), date(2026, 2, 20), settings=tunables)


@pytest.mark.parametrize("coordinates", [[[[0, 0]]], "x", [[["a", "b"]]]])
def test_a_shape_that_is_none_is_refused_as_ground(folder, coordinates):
    with pytest.raises(GeometryError, match=r"closures\.geojson feature 1"):
        closed(folder, coordinates)


@pytest.mark.parametrize("coordinates", [[], [[]], None])
def test_a_shape_without_any_point_closes_nothing(folder, coordinates):
    assert closed(folder, coordinates).closings[0].shape.is_empty


@pytest.mark.parametrize(("text", "words"), [
    ('[mt]\nname = "x"', ("[mt]", "capital")),
    ('[X]\nname = 7', ("[X]", "name", "7")),
    ('[X]\nrole = "king"', ("[X]", "role", "'king'")),
    ('[X]\nfrom = "2026-13-01"', ("[X]", "from", "2026-13-01")),
    ('[X]\nfrom = 2026-02-01\nuntil = 2026-01-01', ("[X]", "until")),
    ('[X]\nalso = "x-k7f2:A"', ("[X]", "also")),
    ('[X]\nalso = ["x-k7f2"]', ("[X]", "also", "'x-k7f2'")),
    ('[X]\nalso = ["A"]', ("[X]", "also", "'A'")),
    ('[X]\nalso = ["x-k7f2:A"]\n[Y]\nalso = ["x-k7f2:A"]', ("[Y]", "also", "'x-k7f2:A'")),
    ('[X]\nrols = "picker"', ("[X]", "rols")),
])
def test_a_wrong_person_is_named(folder, text, words):
    add(folder, "people.toml", text)
    one_mistake(folder, "people.toml", *words)


def test_a_person_must_be_a_table(folder):
    path = folder / "people.toml"
    path.write_text('X = "Mia"\n' + path.read_text())
    one_mistake(folder, "people.toml", "[X]")


@pytest.mark.parametrize(("text", "words"), [
    ('keep_pct = 130', ("keep_pct", "130")), ("max_share_pct = -1", ("max_share_pct", "-1")),
    ('cap = 5', ("cap_unit", "kg_dry")), ('cap = 5\ncap_unit = "t"', ("cap_unit", "'t'")),
    ('cap = "much"\ncap_unit = "bags"', ("cap", "'much'")),
    ('year_start = "30-02"', ("year_start", "30-02")),
    ("notice_days = 1.5", ("notice_days", "1.5")), ("parcels = [1]", ("parcels", "[1]")),
    ("max_kg_per_ha = 500", ("max_kg_per_ha",)),
    ("from = 2026-02-01\nuntil = 2026-01-31", ("until",)),
    ("from = 2026-02-01T00:00:00", ("from",)),
])
def test_a_wrong_permit_is_named_with_its_number(folder, text, words):
    add(folder, "permits.toml", f'[[permit]]\npermit = "A"\n[[permit]]\npermit = "B"\n{text}')
    one_mistake(folder, "permits.toml [[permit]] number 2", *words)


@pytest.mark.parametrize(("first", "second", "year"), [
    ("", "", ""), ("", "from = 2026-05-01", "in its year 2025"),
    ("until = 2026-05-01", "from = 2026-06-01", "in its year 2025"),
    ("from = 2025-09-01", "until = 2025-12-31", "in its year 2025"),
])
def test_2026_11_28_two_permits_of_one_name_in_a_year_would_share_a_filing(
    folder, first, second, year
):
    head = '[[permit]]\npermit = "A"\nyear_start = "09-01"\n'
    add(folder, "permits.toml", f"{head}{first}\n{head}{second}\n")
    one_mistake(folder, "permits.toml [[permit]] number 2", "permit = 'A'", "number 1", year,
                "write another name")


def test_a_permit_renewed_at_its_years_turn_keeps_its_name(folder):
    head = '[[permit]]\npermit = "A"\nyear_start = "09-01"\n'
    add(folder, "permits.toml",
        f"{head}until = 2026-08-31\n{head}from = 2026-09-01\n[[permit]]\npermit = \"B\"\n")
    assert [one.name for one in load_block(folder)[0].permits] == ["A", "A", "B"]


@pytest.mark.parametrize("text", ['permit = "A"', "[permit]\npermit = 1"])
def test_permits_are_a_list_of_tables(folder, text):
    add(folder, "permits.toml", text)
    one_mistake(folder, "permits.toml [[permit]]")


@pytest.mark.parametrize(("text", "key"), [
    ('[[rules]]\nfrom = 2027-01-01\nkeep = 90', "keep"),
    ('[[bags]]\ntype = "bale"\ndry_kg = 15\nlitre = 180', "litre")])
def test_2026_11_25_a_misspelt_key_is_not_passed_over(folder, text, key):
    add(folder, BLOCK, text)
    one_mistake(folder, BLOCK, "number 2", key)


def test_2026_11_25_a_misspelt_key_of_the_grid_is_not_passed_over(folder):
    change(folder, BLOCK, "cell_m = 100.0", "cell_m = 100.0\norigin = 5")
    one_mistake(folder, BLOCK, "[grid]", "origin")


def test_a_later_rule_writes_only_what_changes(folder):
    add(folder, BLOCK, "[[rules]]\nfrom = 2026-07-01\nrest_months = 72")
    block, _ = load_block(folder)
    before, after = (rule_on(block.rules, date(2026, m, d)) for m, d in ((6, 30), (7, 1)))
    assert (before.rest_months, after.rest_months) == (60, 72)
    assert (after.keep_pct, after.living_layer_mm, after.recovery_years) == (30.0, 40.0, 5.0)


@pytest.mark.parametrize(("text", "word"), [
    ("[[rules]]\nrest_months = 72", "from is missing"),
    ("[[rules]]\nfrom = 2026-07-01\n[[rules]]\nfrom = 2026-06-01", "order of their days")])
def test_later_rules_have_days_in_their_order(folder, text, word):
    add(folder, BLOCK, text)
    one_mistake(folder, BLOCK, word)


def test_2026_11_25_the_first_bag_is_the_usual_one_though_it_holds_from_a_day(folder):
    change(folder, BLOCK, 'type = "sack"', 'type = "sack"\nfrom = 2025-07-01')
    add(folder, BLOCK, '[[bags]]\ntype = "bale"\ndry_kg = 15\n'
                       '[[bags]]\ntype = "sack"\nfrom = 2024-07-01\ndry_kg = 6')
    block, _ = load_block(folder)
    usual = [bag_kg_on(block.bags, None, date(year, 8, 1)) for year in (2023, 2024, 2025)]
    assert [(bag.name, bag.dry_kg) for bag in usual] == [("sack", 6.0), ("sack", 6.0),
                                                          ("sack", 7.0)]


def draw(folder, **changes):
    plot = {"plot": "1", "cell": "B02", "lat": -43.0, "lon": 170.0, "spare": False,
            "again": False, **changes}
    (folder / "plots.json").write_text(json.dumps({"plots": 1, "draws": [
        {"how": "drawn", "when": "survey", "plots": [plot]}]}))


@pytest.mark.parametrize(("changes", "word"), [
    ({"cell": "b2"}, "b2"), ({"cell": None}, "None"), ({"lat": "x"}, "x"),
    ({"lat": float("nan")}, "nan"), ({"lat": 91}, "91"), ({"lon": float("inf")}, "inf"),
    ({"lat": 10**400}, "1000")])
def test_a_wrong_plot_is_named(folder, changes, word):
    draw(folder, **changes)
    one_mistake(folder, "plots.json", word)


@pytest.mark.parametrize("content", ["[]", "7", '{"draws": 7}', '{"draws": [7]}', "{}"])
def test_a_plots_file_of_another_form_is_refused_and_never_crashes(folder, content):
    (folder / "plots.json").write_text(content)
    one_mistake(folder, "plots.json")


def test_a_plots_id_is_never_used_again(folder):
    plot = {"plot": "1", "cell": "B02", "lat": -43.0, "lon": 170.0, "spare": False, "again": False}
    draws = [{"how": "drawn", "when": "survey", "plots": [plot]}] * 2
    (folder / "plots.json").write_text(json.dumps({"draws": draws}))
    one_mistake(folder, "plots.json", "'1'", "never reused")


def test_a_format_of_a_later_program_is_refused(folder):
    change(folder, BLOCK, "format = 1", "format = 2")
    one_mistake(folder, BLOCK, "format = 2")


def test_what_is_wrong_is_always_an_error_of_ours(folder):
    for file in ("people.toml", "permits.toml", BLOCK):
        kept = (folder / file).read_bytes() if (folder / file).is_file() else None
        (folder / file).write_bytes(b"\xff\xfe\x00")
        with pytest.raises(FallowError, match=file):
            load_block(folder)
        if kept is None:
            (folder / file).unlink()
        else:
            (folder / file).write_bytes(kept)


def test_2026_11_27_permits_under_a_misspelt_head_are_not_passed_over(small):
    with pytest.raises(SettingsError, match=r"permits\.toml permits"):
        small(permits='[[permits]]\npermit = "X-1"\n')


def test_a_block_without_rates_has_none_and_the_owners_rates_are_read(folder):
    block, _ = load_block(folder)
    assert (block.costs, block.hook_limit_kg) == (Costs(), None)
    add(folder, BLOCK, '[costs]\ncurrency = "NZD"\nlift_each = 0\nmachine_bags = 20\n'
        "sell_per_kg = 13.5\n[lifts]\nhook_limit_kg = 620")
    block, _ = load_block(folder)
    assert block.costs == Costs("NZD", lift_each=0.0, machine_bags=20.0, sell_per_kg=13.5)
    assert block.hook_limit_kg == 620.0


@pytest.mark.parametrize(("written", "words"), [
    ("[costs]\nlift_each = -1", ("[costs] lift_each", "-1", "from 0 to")),
    ("[costs]\nlift_each = nan", ("[costs] lift_each", "nan")),
    ('[costs]\nsell_per_kg = "13"', ("[costs] sell_per_kg", "'13'", "write a number")),
    ("[costs]\nmachine_bags = 0", ("[costs] machine_bags", "0", "above 0")),
    ("[costs]\ncurrency = 5", ("[costs] currency", "5", "write a text")),
    ("[costs]\nlift_eech = 5", ("[costs] lift_eech", "no such key", "lift_each")),
    ("[lifts]\nhook_limit_kg = 0", ("[lifts] hook_limit_kg", "above 0")),
    ("[lifts]\nhook = 620", ("[lifts] hook", "no such key", "hook_limit_kg")),
])
def test_a_wrong_rate_is_named_with_its_key_and_what_to_write(folder, written, words):
    add(folder, BLOCK, written)
    one_mistake(folder, *words)


def test_costs_that_are_no_table_are_refused(folder):
    change(folder, BLOCK, "[grid]", "costs = 5\n[grid]")
    one_mistake(folder, "[costs]", "write a table")


def test_prices_move_no_figure_and_stand_in_no_sum(folder):
    before = sums_of(load_inputs(folder))
    add(folder, BLOCK, "[costs]\nsell_per_kg = 13.5\n[lifts]\nhook_limit_kg = 620")
    assert sums_of(load_inputs(folder)) == before


def test_the_rates_that_a_new_block_shows_as_an_example_can_be_used_as_they_stand(small):
    path = small().folder / BLOCK
    before, _, example = path.read_text().partition("# [costs]")
    path.write_text(before + "[costs]" + example.replace("\n# ", "\n"))
    block, _ = load_block(path.parent)
    assert block.hook_limit_kg == 620.0
    assert (block.costs.currency, block.costs.machine_bags) == ("NZD", 20.0)
def at_top(folder, line):
    path = folder / BLOCK
    path.write_text(f"{line}\n{path.read_text()}")


def test_holidays_are_days_and_spans_in_their_order(folder):
    at_top(folder, 'holidays = ["2025-12-20/2026-01-10", 2025-10-27, "2025-06-02"]')
    block, _ = load_block(folder)
    assert block.holidays == (
        (date(2025, 6, 2), date(2025, 6, 2)), (date(2025, 10, 27), date(2025, 10, 27)),
        (date(2025, 12, 20), date(2026, 1, 10)))


@pytest.mark.parametrize("value", [
    '["Christmas"]', '["2026-01-10/2025-12-20"]', "[7]", '["2025-12-20/"]', "2025",
    "[2025-12-20T10:00:00]"])
def test_a_holiday_that_is_no_day_is_named(folder, value):
    at_top(folder, f"holidays = {value}")
    one_mistake(folder, "block.toml holidays = ", "2025-12-20/2026-01-10")
