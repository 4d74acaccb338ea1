"""`fallow trial`, as the owner types it."""

import json

import pytest

ON = ("--on", "2025-09-01")
NEW = ("new", "rolling", "--treatment", "rolled", "--pairs")


@pytest.fixture
def folder(season):
    made, files = season
    made.take(files)
    return made.folder


def test_a_draw_is_shown_kept_and_never_drawn_again(folder, fallow):
    code, out, err = fallow("trial", folder, *NEW, 2, "--seed", 11, *ON)
    assert code == 0, err
    assert "2 pairs drawn on 2025-09-01, seed 11" in out
    assert max(map(len, out.splitlines())) <= 100
    (draw,) = json.loads((folder / "trials.json").read_text())["draws"]
    assert (draw["seed"], draw["treatment"], len(draw["pairs"])) == (11, "rolled", 2)

    kept = (folder / "trials.json").read_bytes()
    code, _, err = fallow("trial", folder, *NEW, 1, *ON)
    assert code == 1
    assert "is there already and is never drawn again" in err
    assert (folder / "trials.json").read_bytes() == kept

    code, out, _ = fallow("trial", folder, "rolling", *ON)
    assert code == 0
    assert "is not rolled yet; the pair does not count yet" in out
    assert "Cannot tell yet: no pairs" in out
    assert max(map(len, out.splitlines())) <= 100


def test_work_typed_in_with_the_trials_name_is_found(folder, fallow, tmp_path):
    fallow("trial", folder, *NEW, 1, "--seed", 11, *ON)
    (draw,) = json.loads((folder / "trials.json").read_text())["draws"]
    form = tmp_path / "work.csv"
    form.write_text("form,row,kind,day,person,what,cells,hours,trial\n"
                    f"w1,1,work,2025-09-20,MT,rolled,{draw['pairs'][0]['treated']},3,rolling\n")
    assert fallow("take", folder, form)[0] == 0
    _, out, _ = fallow("trial", folder, "--on", "2026-01-01")
    assert "2025-09-20" in out
    assert "was not measured since 2025-09-20" in out


def test_a_seed_is_made_up_and_kept_where_none_is_said(folder, fallow):
    _, out, _ = fallow("trial", folder, *NEW, 1, *ON)
    (draw,) = json.loads((folder / "trials.json").read_text())["draws"]
    assert f"seed {draw['seed']}" in out


def test_a_dry_run_keeps_nothing(folder, fallow):
    code, _, err = fallow("trial", folder, *NEW, 1, "--dry-run", *ON)
    assert code == 0
    assert "not kept" in err
    assert not (folder / "trials.json").exists()


def test_a_block_without_a_trial_says_how_to_draw_one(folder, fallow):
    code, out, _ = fallow("trial", folder, *ON)
    assert code == 0
    assert "fallow trial DIR new NAME --treatment rolled --pairs 6" in out


@pytest.mark.parametrize(("words", "code", "said"), [
    (("new",), 2, "say new and one name"),
    (("new", "a", "b"), 2, "say new and one name"),
    (("new", "a", "--pairs", "2"), 2, "say one of scrub_cut"),
    (("new", "a", "--treatment", "burnt", "--pairs", "2"), 2, "'burnt'"),
    (("new", "a", "--treatment", "rolled"), 2, "--pairs is missing"),
    (("new", "a" * 41, "--treatment", "rolled", "--pairs", "1"), 2, "40 letters at most"),
    ((*NEW, "50"), 1, "make"),
    ((*NEW, "1", "--more"), 1, "there is none to add to"),
    ((*NEW, "1", "--cells", "Z99"), 1, "'Z99': no cell"),
    (("a", "b"), 2, "name one trial"),
    (("a",), 1, "there is none"),
    (("--pairs", "3"), 2, "goes with a new draw"),
    (("--matters", "-1"), 2, "above 0"),
])
def test_what_is_wrong_is_said_and_nothing_is_kept(folder, fallow, words, code, said):
    ended, _, err = fallow("trial", folder, *words, *ON)
    assert ended == code
    assert said in " ".join(err.split())
    assert not (folder / "trials.json").exists()


def test_a_broken_file_of_trials_is_told_by_every_command(folder, fallow):
    (folder / "trials.json").write_text('{"trials": 1, "draws": [{}]}')
    code, _, err = fallow("register", folder, *ON)
    assert code == 2
    assert "trials.json draw 1: KeyError 'seed'" in err
