"""A picker's whole day against the real journal, record for record, with a kill in the middle."""

import pytest

from fieldapp.capture.check_in import CheckIn
from fieldapp.capture.notes import Notes
from fieldapp.capture.outing import Outing
from fieldapp.capture.quadrat import Quadrat
from fieldapp.capture.tally import Tally
from fieldapp.capture.track import Track
from fieldapp.capture.undo import Undo
from fieldapp.device.journal import Journal


@pytest.fixture
def path(tmp_path):
    return tmp_path / "journal.sqlite"


def record(seq, kind, at, where, **fields):
    return {"device": "p3-k7f2", "seq": seq, "kind": kind, "person": "MT",
            "at": f"2026-01-20T{at}.000Z", "where": where, **fields}


def test_a_picker_s_day_is_in_the_journal_record_for_record(path, hand, zone, make_sheet):
    sheet = make_sheet()
    here = {"lat": hand.where.lat, "lon": hand.where.lon, "age_s": 1, "acc_m": 4}
    with Journal.open(path, device="p3-k7f2") as journal:
        outing = Outing(journal)
        outing.start("MT", "picker", sheet=sheet, cell="B01", **hand())
        tally, notes, undo = Tally(outing, zone=zone), Notes(outing, zone=zone), Undo(outing)
        tally.bag(press_ms=140, **hand(minutes=10))
        notes.mark("pile", **hand(minutes=1))
        pile = notes.pile_near(hand.where, hand.now)
        tally.bag(pile=pile, **hand(minutes=9))
        tally.bag(bags=0.5, pile=pile, **hand(minutes=10))
        tally.bag(for_="DW", pile=pile, **hand(minutes=5))
        undo.press(press_ms=450, **hand(seconds=9))
        assert tally.by_person(hand.now) == {"MT": 2.5}
        undo.press(**hand(seconds=21))
        assert tally.by_person(hand.now) == {"MT": 2.5, "DW": 1.0}
        assert tally.bags_on(pile, hand.now) == 2.5
        outing.pause(**hand(minutes=14, seconds=30))
        tally.bag(bags=2, **hand(minutes=20))
    # The app is killed here and opened again.
    with Journal.open(path, device="p3-k7f2") as journal:
        outing = Outing.reopen(journal, sheet=sheet)
        assert (outing.state, outing.may_locate, outing.cell) == ("paused", False, "B01")
        tally, check_in = Tally(outing, zone=zone), CheckIn(outing)
        outing.resume(cell="A01", **hand(minutes=10))
        assert check_in.state(hand.now) == "overdue"
        check_in.fine(**hand(minutes=1))
        hand.go(50.0, 50.0)
        tally.bag(bags=12.5, **hand(minutes=9))
        track = Track(outing)
        for _ in range(2):
            hand.wait(seconds=30)
            hand.go(51.0, 50.0)
            track.add_fix(hand.now, hand.where)
        track.flush(hand.now)
        assert tally.bags_today(hand.now) == 17.0
        assert tally.cells_picked() == ("A01", "B01")
        outing.end(["A01"], **hand(minutes=59))
        written = list(journal.records())
    there = {**here, "lon": hand.at(50.0, 50.0).lon}
    last = {**here, "lon": hand.at(51.0, 50.0).lon}
    lat_e7, lon_e7 = round(last["lat"] * 1e7), round(last["lon"] * 1e7)
    told = {"id": "0a1b2c3d", "made_at": "2026-01-20T05:00:00.000Z"}
    assert written == [
        record(1, "outing", "18:40:00", here, state="start", role="picker", cell="B01",
               sheet=told),
        record(2, "bag", "18:50:00", here, bags=1, press_ms=140),
        record(3, "mark", "18:51:00", here, what="pile", name="P3-014"),
        record(4, "bag", "19:00:00", here, bags=1, pile="P3-014"),
        record(5, "bag", "19:10:00", here, bags=0.5, pile="P3-014"),
        {**record(6, "bag", "19:15:00", here, bags=1, pile="P3-014"), "for": "DW"},
        record(7, "void", "19:15:09", here, of="p3-k7f2:6", press_ms=450),
        record(8, "void", "19:15:30", here, of="p3-k7f2:7"),
        record(9, "outing", "19:30:00", here, state="pause"),
        record(10, "bag", "19:50:00", None, bags=2),
        record(11, "outing", "20:00:00", here, state="resume", role="picker", cell="A01"),
        record(12, "check_in", "20:01:00", here, state="fine"),
        record(13, "bag", "20:10:00", there, bags=12.5),
        record(14, "track", "20:11:00", None, t0="2026-01-20T20:10:29.000Z", dt_ms=[0, 30000],
               lat_e7=[lat_e7, 0], lon_e7=[lon_e7, 0], acc_m=[4, 4]),
        record(15, "outing", "21:10:00", last, state="end", finished=["A01"]),
    ]


def test_a_quadrat_half_noted_survives_a_kill_and_its_save_drops_the_draft(
        path, hand, make_sheet, make_plot):
    sheet = make_sheet(plots=[make_plot("031", "B01", 150, 50)])
    with Journal.open(path, device="p3-k7f2") as journal:
        outing = Outing(journal)
        outing.start("SW", "surveyor", sheet=sheet, **hand())
        quadrat = Quadrat.begin(outing, sheet.plots[0], **hand())
        quadrat.value(60)
        quadrat.value(80)
    with Journal.open(path, device="p3-k7f2") as journal:
        quadrat = Quadrat.resume(Outing.reopen(journal, sheet=sheet))
        assert (quadrat.step, quadrat.draft["depth_mm"]) == ("depth", [80])
        quadrat.value(90)
        quadrat.value(70)
        quadrat.none()
        quadrat.save(now=hand.now)
        assert journal.drafts() == {}
        assert [one["kind"] for one in journal.records()] == ["outing", "quadrat"]
