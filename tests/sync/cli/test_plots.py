"""`fallow plots`, as the owner types it: drawn once, kept, on the phones."""

import json
from datetime import UTC, datetime

import gpxpy
import pytest

from sync.cli.registers import built
from sync.disk.folder import load_block
from sync.geometry.receiver import GIVEN_OUT
from sync.report.sheet_plots import sheet_plots

DAY = "2026-06-15"


def plots(fallow, folder, *words, on=DAY, seed=7):
    return fallow("plots", folder, "--surveyors", 1, "--days", 1, "--seed", seed, "--on", on,
                  *words)


def file_of(folder):
    return json.loads((folder / "plots.json").read_text("utf-8"))


def test_a_draw_is_kept_beside_those_before_and_told_in_100_columns(small, fallow):
    made = small()
    before = (made.folder / "plots.json").read_bytes()

    code, out, err = plots(fallow, made.folder)

    assert code == 0, err
    assert max(map(len, out.splitlines())) <= 100
    assert "expected" in out
    first, second = file_of(made.folder)["draws"]
    assert json.loads(before)["draws"] == [first]
    assert (made.folder / "plots.json.before").read_bytes() == before
    assert (second["draw"], second["drawn_on"], second["seed"]) == (2, DAY, 7)
    assert all(0.0 < p["chance"] <= 1.0 for p in second["plots"])
    names = [p["plot"] for p in second["plots"]]
    assert names == [f"{13 + i:03d}" for i in range(len(names))]
    load_block(made.folder)


def test_drawing_twice_is_refused_and_redraw_withdraws_the_first(small, fallow):
    made = small()
    plots(fallow, made.folder)
    kept = (made.folder / "plots.json").read_bytes()

    code, _, err = plots(fallow, made.folder)
    assert code == 1
    assert "draw 2 of 2026-06-15 (seed 7)" in err
    assert "--redraw" in err
    assert (made.folder / "plots.json").read_bytes() == kept

    code, _, err = plots(fallow, made.folder, "--redraw", seed=8)
    assert code == 0, err
    _, second, third = file_of(made.folder)["draws"]
    assert second["replaced_on"] == DAY
    assert not {p["plot"] for p in second["plots"]} & {p["plot"] for p in third["plots"]}
    asked = {row["plot"] for row in sheet_plots(built(made.folder, None, None)[0])}
    assert asked
    assert not asked & {p["plot"] for p in second["plots"]}


def test_a_draw_that_was_begun_is_not_replaced(small, fallow):
    made = small()
    phone = made.phone("p1")
    plots(fallow, made.folder)
    plot = file_of(made.folder)["draws"][1]["plots"][0]["plot"]
    phone.note("quadrat", datetime(2026, 6, 20, 1, tzinfo=UTC), "SW", plot=plot, when="survey",
               side_m=0.5, cover_pct=60, depth_mm=[80, 90, 70], where=None)
    made.take({"a.handover.zip": phone.pack()}, now=datetime(2026, 6, 21, tzinfo=UTC))

    code, _, err = plots(fallow, made.folder, "--redraw", on="2026-07-01")
    assert code == 1
    assert f"1 of its plots are walked already ({plot})" in err
    assert plots(fallow, made.folder, on="2026-07-01")[0] == 0


def test_a_dry_run_writes_nothing_and_gives_gpx_and_sheets(small, fallow, tmp_path):
    made = small()
    before = (made.folder / "plots.json").read_bytes()
    gpx, html = tmp_path / "w.gpx", tmp_path / "s.html"

    code, _, err = plots(fallow, made.folder, "--dry-run", "--gpx", gpx, "--html", html)

    assert code == 0, err
    assert (made.folder / "plots.json").read_bytes() == before
    theirs = gpxpy.parse(gpx.read_text("utf-8"))
    assert [r.name for r in theirs.routes] == ["surveyor 1, day 1"]
    assert all(w.description.startswith(GIVEN_OUT) for w in theirs.waypoints)
    page = html.read_text("utf-8")
    assert all(w.name.removeprefix("plot ") in page for w in theirs.waypoints)
    assert "This sheet calls nobody." in page
    assert "<script" not in page


def test_a_file_that_cannot_be_written_keeps_no_draw_without_its_walks(small, fallow, tmp_path):
    made = small()
    code, _, err = plots(fallow, made.folder, "--gpx", tmp_path / "no-such" / "w.gpx")
    assert code == 3
    assert "w.gpx" in err
    assert len(file_of(made.folder)["draws"]) == 1


def test_a_draw_is_kept_though_nobody_reads_the_table(small, fallow, monkeypatch):
    made = small()

    def gone(*_words, **_more):
        raise KeyboardInterrupt

    monkeypatch.setattr("sync.cli.plots._show", gone)
    plots(fallow, made.folder)
    assert len(file_of(made.folder)["draws"]) == 2


def test_a_pegged_plot_read_long_ago_is_on_the_sheet_again(season, fallow):
    made, files = season
    made.take(files)
    path = made.folder / "plots.json"
    value = json.loads(path.read_text())
    for plot in value["draws"][0]["plots"]:
        plot["pegged"] = True
    path.write_text(json.dumps(value))
    assert sheet_plots(built(made.folder, None, None)[0]) == []

    code, out, err = plots(fallow, made.folder)

    assert code == 0, err
    again = {p["plot"] for p in file_of(made.folder)["draws"][1]["walked_again"]}
    assert again
    assert "* walked again" in out
    assert again <= {row["plot"] for row in sheet_plots(built(made.folder, None, None)[0])}


@pytest.mark.parametrize("words", [
    ("--surveyors", 0, "--days", 1), ("--surveyors", 1, "--days", 0), ("--surveyors", 1),
    ("--surveyors", 1, "--days", 1, "--on", "yesterday"),
    ("--surveyors", 1, "--days", 1, "--seed", -1),
])
def test_wrong_words_are_wrong_usage(small, fallow, words):
    made = small()
    assert fallow("plots", made.folder, *words)[0] == 2
    assert len(file_of(made.folder)["draws"]) == 1


def test_a_folder_that_is_no_block_is_told_so(fallow, tmp_path):
    code, _, err = plots(fallow, tmp_path)
    assert code == 3
    assert "fallow new" in err
