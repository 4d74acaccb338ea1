"""`fallow field` up to its window: what it refuses before it writes, what it carries over."""

import sys
from datetime import UTC, datetime

import pytest

from fieldapp.capture.outing import Outing
from fieldapp.device.clock import SetClock
from fieldapp.device.desk import desk_of, place_of
from fieldapp.device.phone_folder import PhoneFolder
from fieldapp.ground import answer
from sync.cli.phone import bring
from sync.disk.keys import load_phones

NOW = datetime(2026, 2, 20, 1, tzinfo=UTC)
GPX = """<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>
<trkpt lat="-46.4" lon="169.4"><time>2020-01-01T00:00:00Z</time></trkpt>
<trkpt lat="-46.5" lon="169.5"><time>2020-01-01T00:01:00Z</time></trkpt>
</trkseg></trk></gpx>"""


@pytest.fixture
def fallow(monkeypatch, fallow):
    """The command where there is no display, so that no test opens a window by mistake."""
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER"):
        monkeypatch.delenv(name, raising=False)
    return fallow


def test_it_has_help_without_a_display(fallow):
    code, page, _ = fallow("field", "--help")
    assert code == 0
    for option in ("--from", "--replay", "--at", "--size"):
        assert option in page


def test_without_a_display_it_is_refused_in_one_line_and_nothing_is_written(
        fallow, small, tmp_path):
    made = small()
    before = load_phones(made.folder)

    code, out, err = fallow("field", tmp_path / "phone", "--from", made.folder)

    assert (code, out) == (3, "")
    assert err.count("\n") == 1
    assert "no display" in err
    assert not (tmp_path / "phone").exists()
    assert load_phones(made.folder) == before


def test_without_kivy_it_says_so(fallow, monkeypatch, tmp_path):
    monkeypatch.setitem(sys.modules, "kivy", None)  # as the import system has what is not there
    code, _, err = fallow("field", tmp_path / "phone")
    assert code == 3
    assert "Kivy" in err
    assert ("3.14" in err) == (sys.version_info >= (3, 14))


@pytest.mark.parametrize("size", [
    "413x915", "356x915", "412x567", "1204x915", "412x2401", "412", "412x", "-412x915", "٤١٢x915"])
def test_a_size_that_cannot_be_is_shown_with_one_that_can(fallow, tmp_path, size):
    code, _, err = fallow("field", tmp_path / "phone", "--size", size)
    assert code == 2
    assert repr(size) in err
    assert "412x915" in err
    assert not (tmp_path / "phone").exists()


@pytest.mark.parametrize("at", ["", "-46.4", "-46.4,169.4,3", "91,169", "-46,180.1", "nan,169",
                                "S46,E169"])
def test_a_place_that_cannot_be_is_shown_with_one_that_can(fallow, tmp_path, at):
    code, _, err = fallow("field", tmp_path / "phone", "--at", at)
    assert code == 2
    assert repr(at) in err
    assert "-46.4,169.4" in err


def test_a_gpx_that_is_not_there_is_named(fallow, tmp_path):
    code, _, err = fallow("field", tmp_path / "phone", "--replay", tmp_path / "walk.gpx")
    assert code == 3
    assert str(tmp_path / "walk.gpx") in err
    assert not (tmp_path / "phone").exists()


@pytest.mark.parametrize("content", [b"no gpx", b"\xff\xfe\x00", b"<gpx version='1.1'></gpx>"])
def test_a_file_that_is_no_track_is_named(fallow, tmp_path, content):
    path = tmp_path / "walk.gpx"
    path.write_bytes(content)
    code, _, err = fallow("field", tmp_path / "phone", "--replay", path)
    assert code == 2
    assert "walk.gpx" in err


def test_two_places_at_once_are_refused(fallow, tmp_path):
    path = tmp_path / "walk.gpx"
    path.write_text(GPX)
    code, _, err = fallow("field", tmp_path / "phone", "--replay", path, "--at", "1,2")
    assert code == 2
    assert "not both" in err


def test_a_folder_that_is_no_block_is_refused(fallow, tmp_path):
    code, _, err = fallow("field", tmp_path / "phone", "--from", tmp_path)
    assert code == 3
    assert "fallow new" in err
    assert not (tmp_path / "phone").exists()


def test_a_block_folder_is_no_phone(fallow, small):
    made = small()
    before = sorted(made.folder.rglob("*"))
    code, _, err = fallow("field", made.folder)
    assert code == 2
    assert f"--from {made.folder}" in err
    assert sorted(made.folder.rglob("*")) == before


def test_a_phone_gets_the_next_free_code_and_todays_sheet(season, tmp_path, capsys):
    made, shelf = season
    made.take(shelf)
    folder = PhoneFolder(tmp_path / "phone")

    bring(made.folder, made.block, folder)

    install = folder.in_use()
    sheet = folder.sheet(install)
    assert install.device.startswith("p3-")
    assert install.block == made.block.block_id
    assert sheet is not None
    assert (sheet.block_id, len(sheet.cells)) == (made.block.block_id, 9)
    assert install.device in capsys.readouterr().err
    code = install.device.partition("-")[0]
    assert not (made.folder / "keys" / f"{code}.pairing.json").exists(), "who holds it has the key"


def test_a_phone_that_is_paired_already_keeps_its_code(season, tmp_path):
    made, shelf = season
    made.take(shelf)
    folder = PhoneFolder(tmp_path / "phone")
    bring(made.folder, made.block, folder)
    first = folder.in_use()

    bring(made.folder, made.block, folder)

    assert folder.in_use() == first
    assert folder.installs() == (first,)
    assert [one.phone for one in load_phones(made.folder)] == ["p1", "p2", "p3"]


def test_a_phone_whose_key_the_block_no_longer_holds_gets_another_code(season, small, tmp_path):
    made, shelf = season
    made.take(shelf)
    anew = small("made anew")
    folder = PhoneFolder(tmp_path / "phone")
    bring(made.folder, made.block, folder)
    assert made.block.block_id == anew.block.block_id

    bring(anew.folder, anew.block, folder)

    assert folder.in_use().device.startswith("p1-")


def test_what_is_noted_on_such_a_phone_is_taken_at_the_shed(season, tmp_path):
    made, shelf = season
    made.take(shelf)
    folder = PhoneFolder(tmp_path / "phone")
    bring(made.folder, made.block, folder)
    with folder.journal(folder.in_use()) as journal:
        Outing(journal).start("MT", "picker", now=NOW, where=None)
    (file,) = folder.make_hand_overs(now=NOW, program="0.1.0")

    (taken,) = made.take({"phone.handover.zip": (folder.out / file.path_name).read_bytes()})

    assert (taken.new, taken.refused) == (1, None)


def test_without_a_place_or_a_sheet_the_phone_is_nowhere(tmp_path):
    folder = PhoneFolder(tmp_path / "phone")
    place = place_of(desk_of(tmp_path, size="412x915", at=None, replay=None), folder, NOW)
    assert place.at(NOW) is None
    assert place.trouble == ""


def test_with_a_sheet_it_walks_over_its_ground(season, tmp_path):
    made, shelf = season
    made.take(shelf)
    folder = PhoneFolder(tmp_path / "phone")
    bring(made.folder, made.block, folder)
    clock = SetClock(datetime.now(UTC))
    place = place_of(desk_of(tmp_path, size="412x915", at=None, replay=None), folder, clock.now())
    sheet = folder.sheet(folder.in_use())
    found = answer(sheet, place.at(clock.now()), now=clock.now(), zone=UTC)
    assert not found.outside
    assert found.cell in {one.name for one in sheet.cells}


def test_a_track_is_played_again_from_now_on_and_a_still_phone_lies_still(tmp_path):
    path = tmp_path / "walk.gpx"
    path.write_text(GPX)
    folder = PhoneFolder(tmp_path / "phone")
    track = place_of(desk_of(tmp_path, size="412x915", at=None, replay=path), folder, NOW)
    still = place_of(desk_of(tmp_path, size="412x915", at="-46.4,169.4", replay=None), folder, NOW)
    for place in (track, still):
        found = place.at(NOW)
        assert (found.lat, found.lon, found.acc_m, found.age_s) == (-46.4, 169.4, 4.0, 0.0)
