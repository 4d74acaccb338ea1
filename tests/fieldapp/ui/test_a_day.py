"""A whole day by presses alone, between a real block folder and the register made of it."""

import dataclasses
import json
from collections import Counter
from datetime import UTC, date, datetime, timedelta
from itertools import product

import pytest

from fieldapp.record import Where
from sync.block import Feature
from sync.cli import app
from sync.cli.shown import run
from sync.disk.create import NewBlock, create_block
from sync.disk.folder import load_block
from sync.disk.keys import pair
from sync.disk.load import load_inputs
from sync.disk.people_permits import PEOPLE_FILE
from sync.disk.sheets import write_sheets
from sync.disk.taking import Options, take_files
from sync.geometry.crs import projection
from sync.register.build import build
from sync.report.document import register_document

pytestmark = pytest.mark.draws

EAST, NORTH, SIDE = 1_329_400.0, 5_249_300.0, 300.0
DAY = date(2026, 2, 10)
MORNING = datetime(2026, 2, 9, 19, 30, tzinfo=UTC)  # 08:30 at the block
PEOPLE = """
[O]
name = "the owner"
call = "O."
role = "owner"
[MT]
name = "M. T."
call = "M.T."
[RK]
name = "R. K."
call = "R.K."
"""
CELLS = [f"{column}{row:02d}" for column in "ABC" for row in (1, 2, 3)]
#: Cover and depths of a survey on paper in June: three frames in each cell.
SURVEY = "form,row,kind,day,person,cell,when,side_m,cover_pct,depth_mm\n" + "".join(
    f"june,{i},quadrat,2025-06-20,O,{cell},survey,0.5,{cover},{depth} {depth + 15} {depth - 10}\n"
    for i, (cell, (cover, depth)) in enumerate(
        product(CELLS, ((70, 90), (85, 110), (60, 80))), 1))


def degrees(x, y):
    lat, lon = projection(2193).to_deg(EAST + x, NORTH + y)
    return float(lat), float(lon)


@pytest.fixture
def shed(tmp_path):
    """Make a block folder of nine cells, with a survey, a key for p3 and its ground sheet."""
    ring = [degrees(*point)[::-1] for point in (
        (0, 0), (SIDE, 0), (SIDE, SIDE), (0, SIDE), (0, 0))]
    folder = tmp_path / "block"
    create_block(folder, NewBlock(
        name="Test Mire", block_id="testblok", zone="Pacific/Auckland", rest_months=60,
        outline=(Feature({"type": "Polygon", "coordinates": [ring]}, {}),),
        recovery_years=5, living_layer_mm=40, keep_pct=30, epsg=2193, origin=(EAST, NORTH),
        closures=()))
    (folder / PEOPLE_FILE).write_text(PEOPLE)
    block, _ = load_block(folder)
    form = tmp_path / "june.csv"
    form.write_text(SURVEY)
    (taken,) = take_files(folder, block, [form], Options(), now=MORNING - timedelta(days=200))
    assert (taken.new, taken.aside) == (27, ()), taken
    key_file = pair(folder, block, "p3", bytes(range(32)), now=MORNING - timedelta(days=1))
    register = build(load_inputs(folder), on=DAY)
    (sheet,) = write_sheets(folder, register, register_document(register, ()), "p3",
                            tmp_path / "sheets", now=MORNING)
    return folder, key_file, sheet


@pytest.fixture
def fallow(monkeypatch, capsys):
    def call(*words):
        monkeypatch.setattr("sys.argv", ["fallow", *map(str, words)])
        code = run(app)
        said = capsys.readouterr()
        return code, said.out, said.err
    return call


@dataclasses.dataclass
class Picker:
    """A person with the phone: walks, presses, and remembers what was pressed when."""

    bench: object
    hand: object
    place: object
    bags: int = 0

    def go(self, x, y, acc_m=4.0):
        self.place.fix = Where(*degrees(x, y), 1.0, acc_m)
        self.hand.wait(20, step=1)

    def pick(self, number):
        for _ in range(number):
            self.hand.wait(15, step=1)
            self.hand.press("bag")
            assert self.hand.root.given[-1] == "B1"
        self.bags += number

    def now(self):
        return self.bench.clock.now()

    def words(self):
        return "\n".join(one.text for one in self.hand.root.walk(restrict=True)
                         if getattr(one, "text", ""))


def carry(folder, *paths):
    """Put files into the phone's inbox, as a cable or a card does."""
    for path in paths:
        (folder / "in" / path.name).write_bytes(path.read_bytes())


def spend(picker):
    """Spend the day; give the spans without a fix and without an app."""
    hand = picker.hand
    picker.go(120, 150)
    hand.presses("who MT", "role picker", "start")
    picker.pick(6)
    hand.press("undo")
    for step in range(6):
        picker.go(125 + 5 * step, 150)
        picker.pick(1)
    hand.presses("more", "many", "for RK", "value 0.5")

    picker.place.lose()
    lost_at = picker.now()
    for _ in range(3):
        hand.wait(1200, step=4)
        picker.pick(1)
    hand.press("undo")
    found_at = picker.now()

    picker.go(160, 160)
    hand.presses("more", "mark pile")
    picker.pick(5)

    hand.wait(30, step=1)
    picker.bench.kill(hand)
    killed_at = picker.now()
    picker.bench.clock.advance(timedelta(minutes=12))
    hand = picker.hand = picker.bench.open(None, at=picker.place)
    opened_at = picker.now()
    assert "Outing still open since 08:3" in picker.words()
    hand.press("continue")
    assert "18 bags" in picker.words()  # 20 less 2 undone; the half is somebody else's
    picker.pick(3)

    picker.go(200, 100.5, acc_m=25.0)
    picker.pick(4)
    hand.presses("help", "fine")
    picker.go(150, 130)
    picker.pick(4)
    hand.presses("more", "day", "end", "cell B02", "end")
    return (lost_at, found_at), (killed_at, opened_at)


def test_a_day_of_presses_comes_out_of_the_register_as_it_was(shed, bench, spot, fallow):
    folder, key_file, sheet = shed
    bench.clock.set_to(MORNING)
    place = spot()
    hand = bench.open(None, at=place)
    carry(bench.tmp_path / "phone", key_file, sheet)
    hand.presses("day", "hand_over", "take")
    picker = Picker(bench, hand, place)
    assert "paired with Test Mire as p3" in picker.words()
    hand.presses("back", "back")

    lost, killed = spend(picker)
    hand = picker.hand
    assert picker.bags == 31
    assert "Outing ended" in picker.words()
    hand.press("make")
    (file,) = (bench.tmp_path / "phone" / "out").iterdir()
    assert file.name.endswith(".handover.zip")

    code, out, err = fallow("take", folder, file)
    assert code == 0, err
    count = hand.phone.journal.last_seq()
    assert f"{count} new records, 0 already there, 0 set aside" in out
    assert fallow("aside", folder)[0] == 0

    inputs = load_inputs(folder)
    assert inputs.aside == ()
    register = build(inputs, on=DAY)
    events, device = register.events, hand.phone.install.device
    bags = Counter()
    for one in events.bags:
        bags[one.picker] += one.bags
    assert bags == {"MT": 29, "RK": 0.5}
    assert Counter(one.pile for one in events.bags) == {None: 18, "P3-001": 12}
    assert sum(one.where is None for one in events.bags) == 2
    assert [(one["kind"], one["state"]) for one in
            (held.record for held in inputs.held) if one["kind"] == "check_in"] == [
                ("check_in", "fine")]
    assert [one.state for one in events.outings] == ["start", "end"]
    assert events.finished == {"B02": (DAY,)}
    assert register.holes == ()

    times = [datetime.fromtimestamp(ms / 1000, UTC) for ms in events.tracks[device].at_ms.tolist()]
    for began, ended in (lost, killed):
        assert not [at for at in times if began < at < ended - timedelta(seconds=1)]
        assert [at for at in times if began - timedelta(seconds=65) < at <= began]
        assert [at for at in times if ended <= at < ended + timedelta(seconds=60)]

    placed = register.known.placed
    assert sum(one.bag.bags for one in placed) == 29.5
    # His own by the time picked along his track, RK's by the fix; without either the block's.
    assert Counter(one.how for one in placed) == {"track": 28, "fix": 1, "nowhere": 1}
    in_b02 = sum(one.bag.bags * one.chances.get("B02", 0.0) for one in placed)
    border = [one for one in placed if one.bag.where and one.bag.where.acc_m == 25]
    # Of the bags about the four weak fixes beyond the border part of the time is the neighbour's.
    assert [one.how for one in border] == ["track"] * 4
    assert 23.0 < in_b02 < 28.5
    rows = fallow("register", folder, "--on", "2026-02-11", "--json")
    (cell,) = [one for one in json.loads(rows[1])["cells"] if one["cell"] == "B02"]
    assert (cell["state"], cell["rest_ends"]) == ("resting", "2031-02-10")
    assert cell["last_picked"]["from"] == cell["last_picked"]["to"] == "2026-02-10"
    assert cell["last_picked"]["kg"]["value"] == pytest.approx(in_b02 * 7.0, abs=0.5)  # kg a bag


def test_what_the_shed_took_is_told_to_the_phone_by_its_next_sheet(shed, bench, spot, fallow,
                                                                   started):
    folder, key_file, sheet = shed
    bench.clock.set_to(MORNING)
    place = spot()
    place.fix = Where(*degrees(150, 150), 1.0, 4.0)
    hand = bench.open(None, at=place)
    carry(bench.tmp_path / "phone", key_file, sheet)
    hand.presses("day", "hand_over", "take", "back", "back")
    started(hand, "RK", "picker").presses("bag", "bag", "more", "day", "end", "cell B02", "end",
                                          "make")
    (file,) = (bench.tmp_path / "phone" / "out").iterdir()
    picker = Picker(bench, hand, place)
    assert "all handed over" not in picker.words()
    assert fallow("take", folder, file)[0] == 0

    bench.clock.advance(timedelta(hours=1))
    register = build(load_inputs(folder), on=DAY)
    carry(bench.tmp_path / "phone", *write_sheets(
        folder, register, register_document(register, ()), "p3", sheet.parent, now=picker.now()))
    hand.press("take")
    assert hand.root.given[-1] == "B1"
    assert "all handed over" in picker.words()
    hand.press("make")
    assert "Nothing new" in picker.words()
    assert fallow("take", folder, file)[0] == 0  # twice is harmless
    assert sum(one.bags for one in build(load_inputs(folder), on=DAY).events.bags) == 2
    hand.presses("back", "back")
    started(hand, "MT", "picker")
    assert "RESTING" in picker.words()
