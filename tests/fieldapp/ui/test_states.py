"""Every state of the phone, reached by data alone, drawn in both lights and languages and sizes.

Each state is set up once and then drawn at 360x568 and 412x915 dp, in English and Spanish, with
normal and large text, in BRIGHT and DUSK; no word may be clipped in any of them. To keep the
pictures, name a folder outside the tree:

    FALLOW_PICTURES=/tmp/pictures python -m pytest tests/fieldapp/ui/test_states.py
"""

import dataclasses
import itertools
import os
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from fieldapp.device.identity import Identity
from fieldapp.device.inbox import TakenIn
from fieldapp.device.link.sending import Outcome, Sent, Trouble
from fieldapp.device.location import NoLocation
from fieldapp.device.pairing import Pairing
from fieldapp.phone.link_words import outcome_words, trouble_words
from fieldapp.phone.say import say

pytestmark = pytest.mark.draws
SIZES = ((360, 568), (412, 915))
#: Language, large text, light.
LOOKS = tuple(itertools.product(("en", "es"), (False, True), ("bright", "dusk")))
#: What is drawn when nobody keeps the pictures: light moves no word, and large text in the small
#: window is the hardest.
CHECKED = {(360, 568): [look for look in LOOKS if look[2] == "bright"],
           (412, 915): [("es", True, "dusk"), ("en", False, "dusk")]}
KEPT = os.environ.get("FALLOW_PICTURES")


@dataclasses.dataclass
class Set:
    """What a state is set up with."""

    bench: object
    make_sheet: Callable
    spot: Callable
    started: Callable

    def work(self, role="picker", x=50, y=50, **sheet):
        self.place = self.spot(x, y)
        return self.started(self.bench.open(self.make_sheet(**sheet), at=self.place), "MT", role)

    def later(self, hand, **time):
        self.bench.clock.advance(timedelta(**time))
        hand.wait(6, step=0.5)
        return hand


def start(s):
    return s.bench.open(s.make_sheet(), at=s.spot())


def start_chosen(s):
    hand = start(s)
    hand.presses("who MT", "role surveyor")
    return hand


def start_unpaired(s):
    return s.bench.open(None, at=s.spot())


def start_two_blocks(s):
    folder = s.bench.folder(s.make_sheet())
    s.bench.bring(folder, s.make_sheet(block={"id": "otherblk", "name": "Far Mire"}))
    return s.bench.open(s.make_sheet(), at=s.spot())


def start_still_open(s):
    s.work()
    s.bench.stop()
    return s.bench.open(s.make_sheet(), at=s.place)


def start_refused(s):
    return s.bench.open(s.make_sheet(), at=NoLocation("refused"))


def ready(s):
    hand = s.work()
    hand.presses("more", "mark pile")
    hand.presses("bag", "bag")
    s.place.go(55, 52)
    hand.press("bag", 1.2)
    return s.later(hand, seconds=6)


def resting(s):
    return s.later(s.work(x=150), seconds=1)


def unsurveyed(s):
    return s.later(s.work(x=250), seconds=1)


def closed(s):
    return s.later(s.work(x=50, y=150), seconds=1)


def taken(s):
    return s.later(s.work(x=150, y=150), seconds=1)


def outside(s):
    return s.later(s.work(x=-40), seconds=1)


def near_edge(s):
    return s.later(s.work(x=98), seconds=1)


def no_fix(s):
    hand = s.work()
    s.place.lose()
    return s.later(hand, seconds=1)


def stale_fix(s):
    hand = s.work()
    s.place.go(50, 50, age_s=130)
    return s.later(hand, seconds=1)


def weak_fix(s):
    hand = s.work()
    s.place.go(50, 50, acc_m=28)
    return s.later(hand, seconds=1)


def no_sheet(s):
    hand = s.bench.open(None, at=s.spot())
    hand.presses("who A", "role picker", "start")
    return s.later(hand, seconds=6)


def old_sheet(s):
    s.bench.clock.advance(timedelta(days=8))
    return s.later(s.work(), seconds=6)


def rested_since(s):
    """A sheet twelve days old: the cell that rested when it was made has reached its day."""
    s.bench.clock.advance(timedelta(days=12))
    return s.later(s.work(x=150), seconds=6)


def low_battery(s):
    hand = s.work()
    s.bench.battery.left_pct = 14
    return s.later(hand, seconds=6)


def last_battery(s):
    hand = s.work()
    s.bench.battery.left_pct = 4
    return s.later(hand, seconds=6)


def storage_low(s):
    hand = s.work()
    s.bench.battery.free_mb = 150.0
    return s.later(hand, seconds=6)


def storage_full(s):
    hand = s.work()
    s.bench.battery.free_mb = 20.0
    return s.later(hand, seconds=6)


def clock_wrong(s):
    hand = s.work()
    s.place.go(50, 50, lag_s=-11_520.0)
    return s.later(hand, seconds=6)


def damaged_record(s):
    hand = s.work()
    hand.press("bag")
    s.bench.stop()
    (path,) = s.bench.tmp_path.glob("phone/p3-*/journal.sqlite")
    path.write_bytes(path.read_bytes().replace(b'"kind":"bag"', b'"kind":"bag\0'))
    return s.later(s.bench.open(s.make_sheet(), at=s.place), seconds=6)


def unsent_old(s):
    hand = s.work()
    hand.press("bag")
    s.bench.clock.advance(timedelta(days=4))
    hand.press("help")
    hand.press("fine")
    return s.later(hand, seconds=6)


def paused(s):
    hand = s.work()
    hand.presses("more", "day", "pause")
    return s.later(hand, seconds=6)


def rain(s):
    hand = s.work()
    for k in range(5):
        touch = hand.touch(60 + 40 * k, 200)
        hand.wait(0.05)
        touch.touch_up()
        hand.wait(0.2)
    return s.later(hand, seconds=6)


def check_in_soon(s):
    return s.later(s.work(), minutes=56)


def check_in_overdue(s):
    return s.later(s.work(), minutes=61)


def surveyor(s):
    return s.later(s.work("surveyor", x=120, y=60), seconds=6)


def surveyor_reached(s):
    return s.later(s.work("surveyor", x=70, y=61), seconds=6)


def surveyor_done(s):
    return s.later(s.work("surveyor", plots=[]), seconds=6)


def surveyor_paused(s):
    hand = s.work("surveyor")
    hand.presses("more", "day", "pause")
    return s.later(hand, seconds=6)


def far(s):
    hand = s.work("surveyor", x=110, y=60)
    hand.press("at_plot")
    return hand


def position_unknown(s):
    hand = s.work("surveyor")
    s.place.lose()
    hand.press("at_plot")
    return hand


def cant(s):
    hand = s.work("surveyor", x=70, y=60)
    hand.press("cant")
    return hand


def quadrat_cover(s):
    hand = s.work("surveyor", x=70, y=60)
    hand.press("at_plot")
    return hand


def quadrat_depth(s):
    hand = quadrat_cover(s)
    hand.presses("value 60", "value 80", "plus")
    return hand


def quadrat_scrub(s):
    hand = quadrat_depth(s)
    hand.presses("value 90", "value 70")
    return hand


def quadrat_check(s):
    hand = quadrat_cover(s)
    hand.presses("value 60", "value 80", "value 90", "page", "page", "value 360", "none")
    return hand


def quadrat_water(s):
    hand = quadrat_check(s)
    hand.press("water")
    return hand


def quadrat_ground(s):
    hand = quadrat_check(s)
    hand.press("ground")
    return hand


def quadrat_half_noted(s):
    hand = quadrat_depth(s)
    hand.root.back()
    return s.later(hand, seconds=6)


def more(s):
    hand = s.work()
    hand.presses("more", "mark hazard", "more")
    return hand


def many(s):
    hand = s.work(bag_types=[{"type": "sack", "wet_kg": 88, "dry_kg": 6.8},
                             {"type": "big sack", "wet_kg": 160, "dry_kg": 12}])
    hand.presses("more", "many", "for AR")
    return hand


def many_names(s):
    hand = s.work()
    hand.presses("more", "many", "names")
    return hand


def work_what(s):
    hand = s.work()
    hand.presses("more", "work_done")
    return hand


def work_cells(s):
    hand = s.work()
    hand.presses("more", "work_done", "what slash_stacked", "cell A01")
    return hand


def work_hours(s):
    hand = work_cells(s)
    hand.presses("next", "value 1.5")
    return hand


def weigh(s):
    hand = s.work()
    hand.presses("more", "weigh", "value 3", "digit 6", "digit 1", "digit .", "digit 5")
    return hand


def weigh_tied(s):
    hand = weigh(s)
    hand.press("save")
    return hand


def clip_label(s):
    hand = quadrat_check(s)
    hand.press("clip")
    return hand


def clip_cut(s):
    hand = clip_label(s)
    hand.press("take")
    return hand


def clip_layer(s):
    hand = clip_cut(s)
    hand.presses("plug 20", "value 20")
    return hand


def help_(s):
    hand = s.work()
    hand.press("help")
    return hand


def help_running(s):
    hand = help_(s)
    hand.press("help")
    return s.later(hand, seconds=70)


def help_told(s):
    hand = help_running(s)
    hand.phone.journal.acknowledge([(1, hand.phone.journal.last_seq())])
    return s.later(hand, seconds=1)


def help_no_place(s):
    hand = s.work()
    s.place.lose()
    hand.press("help")
    return hand


def day(s):
    hand = s.work()
    hand.presses("bag", "more", "day")
    return hand


def my_data(s):
    hand = day(s)
    hand.press("my_data")
    return hand


def my_data_written(s):
    hand = my_data(s)
    hand.press("of MT")
    return hand


def finish(s):
    hand = s.work()
    hand.press("bag")
    s.place.go(250, 150)
    hand.presses("bag", "more", "day", "end", "cell A01")
    return hand


def ended(s):
    hand = finish(s)
    hand.press("end")
    return hand


def hand_over_made(s):
    hand = ended(s)
    hand.press("make")
    return s.later(hand, seconds=6)


#: As long as an address that can be typed gets.
ADDRESS = "192.168.100.200:18417"


def wired(s):
    """A phone that was paired over Wi-Fi, with an outing behind it."""
    s.bench.folder(s.make_sheet())
    with Identity(s.bench.tmp_path / "phone" / "identity.json") as identity:
        identity.pair(Pairing("km7q2x4a", "Kettle Mire", "p3", bytes(range(32))),
                      pin="0" * 64, address=ADDRESS)
    hand = ended(s)
    hand.phone.parts.folder.shed_at(ADDRESS)
    return s.later(hand, seconds=6)


def hand_over_wifi(s):
    return wired(s)


def hand_over_sending(s):
    hand = wired(s)
    hand.phone.link._begin(ADDRESS, lambda stop: stop.wait(60))
    hand.phone.link._far(4_000, 10_000)
    return s.later(hand, seconds=1)


def hand_over_sent(s):
    hand = wired(s)
    hand.phone.link.told = outcome_words(
        Outcome((Sent("p3-aaaa", 120, 0),), 12, "p3.sheet.zip"),
        TakenIn("p3.sheet.zip", "sheet", "", "p3-aaaa"), ADDRESS)
    return s.later(hand, seconds=1)


def hand_over_most_told(s):
    """As much as can be amiss at once: a former phone, set aside, a journal, the sheet."""
    hand = wired(s)
    hand.phone.link.told = outcome_words(
        Outcome((Sent("p3-aaaa", 0, 7, 0, Trouble("revoked", "")),
                 Sent("p3-bbbb", 1120, 7, 3)), 12, trouble=Trouble("busy", "")), None, ADDRESS)
    return s.later(hand, seconds=1)


def link_trouble(code, page):
    """Show a trouble where it is told: on HAND OVER, or by the pairing that it ended."""
    def make(s):
        hand = wired(s)
        hand.phone.link.told = (trouble_words(code, "line 3: not JSON", ADDRESS),)
        if page == "pair_code":
            hand.root.open("pair_code")
            hand.root.screen._page = "told"
        return s.later(hand, seconds=1)
    return make


def link_said(said):
    """Show what is said for a while, whatever page is up by then."""
    def make(s):
        hand = wired(s)
        hand.root._tell(said)
        hand.root.refresh()
        hand.wait(0.1)
        return hand
    return make


def pair_where(s):
    hand = wired(s)
    hand.press("pair")
    return hand


def pair_address(s):
    hand = s.bench.open(None, at=s.spot())
    hand.presses("day", "hand_over", "pair")
    for sign in ADDRESS:
        hand.press(f"digit {sign}")
    return hand


def pair_no_address(s):
    hand = s.bench.open(None, at=s.spot())
    hand.presses("day", "hand_over", "pair", "digit 1", "digit 9", "next")
    return hand


def pair_digits(s):
    hand = pair_address(s)
    hand.presses("next", "digit 4", "digit 0", "digit 7", "digit 1", "digit 8")
    return hand


def pair_digits_again(s):
    hand = pair_where(s)
    hand.press("last")
    return hand


def pairing_goes_on(s):
    hand = pair_where(s)
    hand.phone.link._begin(ADDRESS, lambda stop: stop.wait(60))
    hand.root.open("pair_code")
    return s.later(hand, seconds=1)


def history_days(s):
    hand = s.work()
    hand.press("bag")
    s.bench.clock.advance(timedelta(days=1))
    hand.presses("bag", "more", "day", "history")
    return hand


def history(s):
    hand = s.work()
    hand.presses("bag", "more", "mark weed", "bag", "undo", "bag", "bag", "bag", "more", "day",
                 "history")
    hand.press(next(name for name in hand.names() if name.startswith("day ")))
    return hand


def history_record(s):
    hand = history(s)
    hand.press([name for name in hand.names() if name.startswith("line ")][1])
    return hand


def history_note(s):
    hand = history_record(s)
    hand.press("note")
    return hand


def settings(s):
    hand = s.work()
    hand.presses("more", "day", "settings")
    return hand


def words(s):
    hand = settings(s)
    hand.press("glossary")
    return hand


def privacy(s):
    hand = settings(s)
    hand.press("privacy")
    return hand


def privacy_page(number, language):
    """Open a page of paragraphs, whose language is that of the moment it was opened."""
    def make(s):
        hand = settings(s)
        hand.phone.change(language=language)
        hand.presses("privacy", *["down"] * (number - 1))
        return hand
    return make


def try_press(s):
    hand = settings(s)
    hand.press("try")
    return hand


def map_panel(s):
    hand = s.work()
    hand.presses("bag", "map")
    return hand


def map_whole(s):
    hand = map_panel(s)
    hand.press("wider")
    return hand


def not_saved(s):
    hand = s.work()
    hand.phone.journal._connection.execute("PRAGMA query_only = 1")
    hand.press("bag")
    return hand


#: State, and in English what must stand on the screen.
STATES = {
    "start": (start, "WHO?", "CHOOSE WHO"),
    "start_chosen": (start_chosen, "today in A01", "START"),
    "start_unpaired": (start_unpaired, "MORE NAMES"),
    "start_two_blocks": (start_two_blocks, "BLOCK?", "Far Mire"),
    "start_still_open": (start_still_open, "Outing still open since 13:00", "CONTINUE"),
    "start_refused": (start_refused, "Allow location for this app"),
    "ready": (ready, "READY", "2½ bags", "pile P3-014: 2½", "left here: 118 bags"),
    "resting": (resting, "RESTING", "20 Feb 2026", "B01 resting"),
    "unsurveyed": (unsurveyed, "NOT SURVEYED", "ask before picking"),
    "closed": (closed, "CLOSED", "do not pick"),
    "taken": (taken, "TAKEN",),
    "outside": (outside, "OUTSIDE", "40 m E"),
    "near_edge": (near_edge, "NEAR EDGE", "A01 ready / B01 resting"),
    "no_fix": (no_fix, "CAN'T TELL", "no position yet"),
    "stale_fix": (stale_fix, "CAN'T TELL", "position 2 min old"),
    "weak_fix": (weak_fix, "± 28 m, wait a little"),
    "no_sheet": (no_sheet, "NO SHEET"),
    "old_sheet": (old_sheet, "Sheet 8 days old"),
    "rested_since": (rested_since, "READY", "Sheet 12 days old"),
    "low_battery": (low_battery, "BATTERY 14 %: hand over soon"),
    "last_battery": (last_battery, "BATTERY 4 %: write on paper now"),
    "storage_low": (storage_low, "STORAGE FULL: no photos"),
    "storage_full": (storage_full, "STORAGE FULL: hand over, free space"),
    "clock_wrong": (clock_wrong, "Phone clock 3 h 12 min off. Set it"),
    "damaged_record": (damaged_record, "1 damaged record: hand over"),
    "unsent_old": (unsent_old, "4 unsent, 4 days"),
    "paused": (paused, "PAUSED", "location off", "CONTINUE"),
    "rain": (rain, "RAIN: press longer"),
    "check_in_soon": (check_in_soon, "CHECK IN by 14:00", "due 14:00"),
    "check_in_overdue": (check_in_overdue, "CHECK IN NOW"),
    "surveyor": (surveyor, "50 m", "plot 031 · 3 left", "AT THE PLOT"),
    "surveyor_reached": (surveyor_reached, "STOP. Frame at your boot, where you stand."),
    "surveyor_done": (surveyor_done, "No plot is left", "NOTE HERE, BY EYE"),
    "surveyor_paused": (surveyor_paused, "PAUSED", "CONTINUE"),
    "far": (far, "You are 40 m from plot 031", "NOTE HERE, BY EYE", "GO ON"),
    "position_unknown": (position_unknown, "Position not known", "NOTE ANYWAY", "WAIT"),
    "cant": (cant, "POOL", "SCRUB", "FLOODED", "UNSAFE", "OTHER"),
    "quadrat_cover": (quadrat_cover, "plot 031 · COVER %", "100"),
    "quadrat_depth": (quadrat_depth, "plot 031 · DEPTH mm 2 of 3", "60 %  85  __", "ENOUGH"),
    "quadrat_scrub": (quadrat_scrub, "plot 031 · SCRUB %", "NONE"),
    "quadrat_check": (quadrat_check, "cover 60 %", "one probe is far deeper", "SAVE", "THROW"),
    "quadrat_water": (quadrat_water, "NOT MEASURED"),
    "quadrat_ground": (quadrat_ground, "WHICH GROUND?", "lawn"),
    "quadrat_half_noted": (quadrat_half_noted, "GO ON WITH 031"),
    "more": (more, "NEW PILE", "HAZARD", "MANY BAGS", "last: hazard 2"),
    "many": (many, "BAGS for A.R.", "FOR A.R.", "½"),
    "many_names": (many_names, "WHOSE BAGS?", "D.W."),
    "work_what": (work_what, "SCRUB CUT", "DRAIN BLOCKED"),
    "work_cells": (work_cells, "WHICH CELLS?", "NEXT", "A01"),
    "work_hours": (work_hours, "HOURS", "slash stacked A01", "1½"),
    "weigh": (weigh, "3 bags 61.5 kg", "= 20.5 each"),
    "weigh_tied": (weigh_tied, "Tie this label on: P3-014"),
    "clip_label": (clip_label, "P3-014", "TAKE THIS LABEL"),
    "clip_cut": (clip_cut, "FRAME", "PLUG 20 cm"),
    "clip_layer": (clip_layer, "LAYER to, mm", "from 20 mm"),
    "help": (help_, "S 46.39955", "E 169.40065", "of gate", "This phone cannot call from here"),
    "help_running": (help_running, "HELP since 13:00", "Nobody has been told yet",
                     "I'M OK NOW"),
    "help_told": (help_told, "The shed has it"),
    "help_no_place": (help_no_place, "No position yet"),
    "day": (day, "M.T. · picker · since 13:00", "HOLD: END OUTING", "2 unsent",
            "MY DATA"),
    "my_data": (my_data, "WHOSE DATA?", "M.T."),
    "my_data_written": (my_data_written, "2 records in p3-", "-mine.json"),
    "finish": (finish, "Which cells are finished?", "A01", "C02", "END OUTING"),
    "ended": (ended, "MAKE FILE", "paired with Kettle Mire as p3"),
    "hand_over_made": (hand_over_made, "TAKE FILES IN", "5 records"),
    "hand_over_wifi": (hand_over_wifi, "SEND TO SHED", "MAKE FILE", "TAKE FILES IN",
                       "PAIR BY CODE"),
    "hand_over_sending": (hand_over_sending, f"talking with the shed at {ADDRESS} …",
                          "40 % sent"),
    "hand_over_sent": (hand_over_sent, "All handed over: 120 records", "sheet · taken in",
                       "12 records noted before pairing: make a file of them"),
    "hand_over_most_told": (hand_over_most_told, "Handed over: 1120 records", "3 records wait"),
    **{f"hand_over_{code}": (link_trouble(code, "hand_over"), said) for code, said in {
        "no_answer": f"The shed does not answer at {ADDRESS}. Nothing is lost: try again, or make "
                     "a file.",
        "cut": "it goes on where it stopped", "other_shed": "nothing was sent",
        "no_shed": "no shed of this version", "revoked": "ask the owner",
        "other_block": "hand over at your own",
        "unreadable": "The shed refused the file: line 3: not JSON."}.items()},
    **{f"pairing_{code}": (link_trouble(code, "pair_code"), said, "TYPE THE DIGITS AGAIN")
       for code, said in {
        "wrong_code": "These are not the digits", "no_code": "Ask for a new one.",
        "too_many": "Wait a minute.", "impostor": "nothing was sent or kept",
        "no_answer": "Nothing is lost"}.items()},
    **{f"said_{at}": (link_said(said), said.text) for at, said in enumerate((
        say("Handed over. The sheet is new."), say("Not all done. Nothing is lost."),
        say("Not done. Nothing is lost."), say("Talking with the shed: wait"),
        say("The address is kept"), say("Type all eight digits first")))},
    "pair_where": (pair_where, "WHERE IS THE SHED?", ADDRESS, "as the last time", "SAME SHED"),
    "pair_address": (pair_address, "THE SHED'S ADDRESS", ADDRESS, "CLEAR", "NEXT"),
    "pair_no_address": (pair_no_address, "19", "No address: read it again"),
    "pair_digits": (pair_digits, "THE SHED'S 8 DIGITS", "4071 8___", "PAIR"),
    "pair_digits_again": (pair_digits_again, "____ ____", "SAME SHED"),
    "pairing_goes_on": (pairing_goes_on, f"talking with the shed at {ADDRESS} …"),
    "history_days": (history_days, "10 Feb 2026", "11 Feb 2026"),
    "history": (history, "1–5 of 7", "undone"),
    "history_record": (history_record, "UNDO THIS", "NOTE"),
    "history_note": (history_note, "NOTE", "SAVE"),
    "settings": (settings, "LANGUAGE", "LARGE TEXT", "WHO SEES MY LOCATION"),
    "words": (words, "WORDS", "block:"),
    "privacy": (privacy, "WHO SEES MY LOCATION"),
    "privacy_2": (privacy_page(2, "en"), "WHO SEES IT", "HOW LONG", "the owner decides"),
    "privacy_3": (privacy_page(3, "en"), "SEE IT, MEND IT"),
    "privacy_1_spanish": (privacy_page(1, "es"), "PARA QUÉ", "CUÁNDO"),
    "privacy_2_spanish": (privacy_page(2, "es"), "QUIÉN LO VE", "CUÁNTO TIEMPO"),
    "privacy_3_spanish": (privacy_page(3, "es"), "HISTORIAL"),
    "try_press": (try_press, "PRESS HERE"),
    "map_panel": (map_panel, "+", "BACK"),
    "map_whole": (map_whole, "BACK"),
    "not_saved": (not_saved, "NOT SAVED", "1 bag waits. Do not press again.", "TRY AGAIN"),
}


def texts(hand):
    from fieldapp.ui.line import TextLine
    return [one for one in hand.root.walk()
            if isinstance(one, TextLine) and one.text and seen(one)]


def seen(widget):
    while widget is not None and hasattr(widget, "opacity"):
        if widget.opacity == 0:
            return False
        widget = widget.parent if widget.parent is not widget else None
    return True


def drawn_words(line):
    """Every word that the renderer has put into the texture; it leaves out lines with no room."""
    return " ".join(word.text for row in line._label._cached_lines for word in row.words).split()


def check(hand, told):
    for one in texts(hand):
        assert drawn_words(one) == one.text.split(), f"{told}: {one.text!r}"
        assert not one.clipped, f"{told}: {one.text!r} in {one.size} at {one.font_size}"
        width, height = one.texture_size
        assert width <= one.width + 1, f"{told}: {one.text!r} is {width} px in {one.width}"
        assert height <= one.height + 1, f"{told}: {one.text!r} is {height} px in {one.height}"
    for face in hand.root.faces():
        assert face.x >= 0, f"{told}: {face.key.name}"
        assert face.right <= hand.window.width, f"{told}: {face.key.name}"
        assert face.y >= -0.5, f"{told}: {face.key.name} {face.y}"
        assert min(face.width, face.height) >= 63, f"{told}: {face.key.name} {face.size}"


@pytest.mark.parametrize("state", STATES)
def test_a_state_says_what_it_is_and_no_word_is_clipped(
        bench, make_sheet, spot, started, state):
    make, *said = STATES[state]
    hand = make(Set(bench, make_sheet, spot, started))
    shown = "\n".join(one.text for one in texts(hand))
    for one in said:
        assert one in shown, shown
    for size in SIZES:
        for look in LOOKS if KEPT else CHECKED[size]:
            language, large, light = look
            hand.phone.settings = dataclasses.replace(
                hand.phone.settings, language=language, large_text=large, light=light)
            hand.resize(*size)
            hand.root.refresh()
            hand.wait(0.1)
            told = f"{state} {size[0]} {language} {'large' if large else 'normal'} {light}"
            if KEPT:
                hand.shot(Path(KEPT) / (told.replace(" ", "-") + ".png"))
            check(hand, told)
