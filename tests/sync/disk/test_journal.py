import json
import os
import sqlite3
import subprocess
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from sync.disk.journal import JOURNAL_FILE, ShedJournal, Taken
from sync.errors import DiskError, IntakeError
from sync.intake.check import Aside, Held, check_line

T0 = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
P3 = "p3-k7f2"


def at(hours):
    return T0 + timedelta(hours=hours)


def line(seq=1, *, device=P3, **fields):
    return json.dumps({"device": device, "seq": seq, "kind": "bag", "person": "MT", "bags": 1,
                       "at": "2026-01-20T18:40:00.000Z", **fields}).encode()


def checked(data, *, sealed=True, file="a.handover.zip", promised=None):
    return check_line(data, file=file, number=1, sealed=sealed, promised=promised)


def held(seq=1, *, sealed=True, **fields):
    found = checked(line(seq, **fields), sealed=sealed)
    assert isinstance(found, Held)
    return found


def set_aside(data, *, sealed=True, file="a.handover.zip", promised=None):
    found = checked(data, sealed=sealed, file=file, promised=promised)
    assert isinstance(found, Aside)
    return found


BROKEN = line(2, bags=77)
#: What the shed says, without device and number.
BY_HAND = {"kind": "bag", "at": "2026-01-21T00:00:00.000Z", "person": "O", "bags": 2,
           "cell": "C07"}


@pytest.fixture
def journal(tmp_path):
    with ShedJournal(tmp_path) as opened:
        yield opened


def take(journal, *sound, aside=(), hours=0, file="a.handover.zip"):
    return journal.take(sound, aside, file=file, arrived=at(hours))


def test_what_was_taken_is_held_as_it_came(journal):
    one = held(1, wind_bft=4, note="ñandú ½ 木", where={"lat": -42.5, "lon": 169.25, "age_s": 0.5})
    assert take(journal, one, aside=[set_aside(BROKEN)]) == Taken(new=1, known=0, aside=1)
    assert journal.held() == (one,)
    assert journal.waiting() == (set_aside(BROKEN),)


def test_a_file_taken_twice_changes_nothing(journal):
    take(journal, held(1), held(2), aside=[set_aside(BROKEN)])
    before = (journal.held(), journal.waiting())
    again = take(journal, held(1), held(2), aside=[set_aside(BROKEN)], hours=5, file="b")
    assert (again.new, again.known) == (0, 2)
    assert (journal.held(), journal.waiting()) == before
    assert journal.held(known_by=at(0)) == before[0], "it keeps the time it first arrived"


def test_records_come_by_name_and_sum_whatever_the_order_of_taking(tmp_path):
    records = [held(2), held(1), held(1, bags=3), held(1, device="p1-a2b3")]
    for folder, order in (("a", records), ("b", reversed(records))):
        (tmp_path / folder).mkdir()
        with ShedJournal(tmp_path / folder) as journal:
            take(journal, *order)
            found = journal.held()
        assert list(found) == sorted(records, key=lambda one: (one.name, one.total))


def test_both_contents_of_one_name_are_kept(journal):
    take(journal, held(1), held(1, bags=3))
    assert len(journal.held()) == 2


def test_what_came_unsealed_is_sealed_once_a_sealed_file_brings_it(journal):
    take(journal, held(1, sealed=False))
    take(journal, held(1, sealed=True), hours=2)
    take(journal, held(1, sealed=False), hours=3)
    assert [one.sealed for one in journal.held()] == [True]
    assert [one.sealed for one in journal.held(known_by=at(1))] == [False]


def test_a_seal_speaks_for_one_content_only(journal):
    take(journal, held(1, sealed=False), held(1, bags=3, sealed=True))
    assert {one.record["bags"]: one.sealed for one in journal.held()} == {1: False, 3: True}


def test_known_by_leaves_out_what_arrived_later_and_keeps_its_own_instant(journal):
    take(journal, held(1))
    take(journal, held(2), aside=[set_aside(BROKEN)], hours=2)
    assert [one.name for one in journal.held(known_by=at(0))] == [f"{P3}:1"]
    assert journal.held(known_by=at(0) - timedelta(milliseconds=1)) == ()
    assert journal.waiting(known_by=at(1)) == ()
    assert len(journal.waiting(known_by=at(2))) == 1


def test_known_by_may_be_in_any_zone(journal):
    take(journal, held(1))
    assert len(journal.held(known_by=at(0).astimezone(ZoneInfo("Pacific/Auckland")))) == 1


def test_a_line_that_passes_a_new_check_keeps_its_arrival(journal):
    take(journal, aside=[set_aside(BROKEN)])
    raw = journal.waiting()[0].raw
    mended = held(2, bags=7)
    journal.let_pass(raw, mended)
    assert journal.waiting() == ()
    assert journal.held(known_by=at(0)) == (mended,)
    journal.let_pass(raw, mended)
    assert journal.held() == (mended,)


def test_a_line_that_passed_does_not_wait_again_when_its_file_is_taken_again(journal):
    take(journal, aside=[set_aside(BROKEN)])
    journal.let_pass(journal.waiting()[0].raw, held(2, bags=7))
    take(journal, aside=[set_aside(BROKEN)], hours=1)
    assert journal.waiting() == ()


def test_only_a_line_that_waited_can_pass(journal):
    with pytest.raises(IntakeError, match="no such line"):
        journal.let_pass("{}", held(2))
    assert journal.held() == ()


def test_a_waiting_line_is_sealed_once_a_sealed_file_brings_it(journal):
    take(journal, aside=[set_aside(BROKEN, sealed=False)])
    take(journal, aside=[set_aside(BROKEN, sealed=True)])
    assert [one.sealed for one in journal.waiting()] == [True]


def test_2026_11_25_lines_broken_alike_each_keep_their_own_number(journal):
    lines = [set_aside(b"{", promised=f"{P3}:{seq}") for seq in (4, 5)]
    other = set_aside(b"{", promised="p1-a2b3:9", file="b.handover.zip")
    take(journal, aside=lines)
    take(journal, aside=[other], file="b.handover.zip")
    take(journal, aside=lines)
    assert [one.name for one in journal.waiting()] == [f"{P3}:4", f"{P3}:5", "p1-a2b3:9"]


def test_lines_without_a_number_wait_once_each(journal):
    for _ in range(2):
        take(journal, aside=[set_aside(b"{"), set_aside(b"[")])
    assert [(one.raw, one.name) for one in journal.waiting()] == [("[", None), ("{", None)]


@pytest.mark.parametrize("raw", [b"\x00", b"\xff", b"{\x00}", "\U0001f33f".encode()])
def test_any_bytes_wait_as_they_came(journal, raw):
    one = set_aside(raw)
    take(journal, aside=[one])
    assert journal.waiting() == (one,)


def test_the_shed_numbers_its_own_records_from_1(journal):
    assert journal.write_down([BY_HAND, BY_HAND], arrived=at(0)) == ["shed:1", "shed:2"]
    assert journal.write_down([BY_HAND], arrived=at(1)) == ["shed:3"]
    assert [one.sealed for one in journal.held()] == [True] * 3
    assert len(journal.held(known_by=at(0))) == 2
    assert journal.write_down([], arrived=at(2)) == []


def test_the_number_after_9_is_10_and_then_11(journal):
    for seq in range(1, 13):
        assert journal.write_down([BY_HAND], arrived=at(0)) == [f"shed:{seq}"]


def test_a_phone_whose_code_is_shed_does_not_disturb_the_sheds_numbers(journal):
    take(journal, held(900, device="shed-k7f2"))
    assert journal.write_down([BY_HAND], arrived=at(0)) == ["shed:1"]


def test_of_records_by_hand_all_are_written_or_none(journal):
    with pytest.raises(IntakeError, match="bags=77"):
        journal.write_down([BY_HAND, {**BY_HAND, "bags": 77}], arrived=at(0))
    assert journal.held() == ()
    assert journal.write_down([BY_HAND], arrived=at(0)) == ["shed:1"]


def test_the_shed_may_void_a_record_it_writes_down_just_before(journal):
    names = journal.write_down([BY_HAND, {**BY_HAND, "kind": "void", "of": "shed:1"}],
                               arrived=at(0))
    assert names == ["shed:1", "shed:2"]
    with pytest.raises(IntakeError, match="lower number"):
        journal.write_down([{**BY_HAND, "kind": "void", "of": "shed:3"}], arrived=at(0))


def test_what_the_shed_mended_is_told_by_name(journal):
    take(journal, held(1), held(2, instead_of=f"{P3}:1"))
    journal.write_down([{**BY_HAND, "instead_of": f"{P3}:2"}, BY_HAND], arrived=at(0))
    assert journal.mended() == {f"{P3}:2"}


@pytest.mark.parametrize("statement", [
    "UPDATE record SET body = '{}'", "UPDATE record SET arrived = '2020'",
    "UPDATE record SET name = 'p3-k7f2:2'", "DELETE FROM record", "DELETE FROM record WHERE 1",
    "UPDATE OR REPLACE record SET file = 'x'"])
def test_the_file_itself_refuses_to_change_or_delete_a_record(journal, tmp_path, statement):
    take(journal, held(1))
    other = sqlite3.connect(tmp_path / JOURNAL_FILE)
    with pytest.raises(sqlite3.IntegrityError, match="never"):
        other.execute(statement)
    other.close()
    assert journal.held() == (held(1),)


class TripError(Exception):
    """Stands for whatever may happen in the middle."""


class TrippingRecord(dict):
    def items(self):
        raise TripError


def test_a_taking_that_fails_in_the_middle_leaves_nothing(journal):
    bad = Held(f"{P3}:2", "0" * 64, TrippingRecord(), sealed=True)
    with pytest.raises(TripError):
        take(journal, held(1), bad, aside=[set_aside(BROKEN)])
    assert (journal.held(), journal.waiting()) == ((), ())
    assert take(journal, held(1)).new == 1


def test_2026_11_25_after_a_full_disk_nothing_is_taken_and_the_journal_goes_on(tmp_path):
    many = [held(seq, note="x" * 1500) for seq in range(1, 200)]
    with ShedJournal(tmp_path) as journal:
        take(journal, held(1000))
        database = journal._db
        pages = database.execute("PRAGMA page_count").fetchone()[0]
        database.execute(f"PRAGMA max_page_count = {pages + 5}")
        with pytest.raises(DiskError, match="the disk is full; make room and try again"):
            take(journal, *many)
        assert [one.name for one in journal.held()] == [f"{P3}:1000"]
        database.execute("PRAGMA max_page_count = 1000000")
        assert take(journal, *many).new == 199


def test_a_file_that_is_no_journal_is_refused_in_plain_words(tmp_path):
    (tmp_path / JOURNAL_FILE).write_bytes(b"a shopping list" * 100)
    with pytest.raises(DiskError, match=r"journal\.sqlite: it is damaged"):
        ShedJournal(tmp_path)


def test_a_folder_that_is_not_there_is_refused_in_plain_words(tmp_path):
    with pytest.raises(DiskError, match=r"journal\.sqlite: "):
        ShedJournal(tmp_path / "nowhere")


def test_a_journal_that_another_program_is_writing_to_says_so(journal, tmp_path):
    journal._db.execute("PRAGMA busy_timeout = 50")
    other = sqlite3.connect(tmp_path / JOURNAL_FILE, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(DiskError, match="another program is writing to it"):
        take(journal, held(1))
    other.execute("ROLLBACK")
    other.close()
    assert take(journal, held(1)).new == 1


def test_what_was_taken_is_there_when_the_journal_is_opened_again(tmp_path):
    with ShedJournal(tmp_path) as journal:
        take(journal, held(1), aside=[set_aside(BROKEN)])
        journal.write_down([BY_HAND], arrived=at(0))
        before = (journal.held(), journal.waiting())
    with ShedJournal(tmp_path) as journal:
        assert (journal.held(), journal.waiting()) == before


TAKER = """
import sys, json
from datetime import UTC, datetime
from pathlib import Path
from sync.disk.journal import ShedJournal
from sync.intake.check import check_lines
folder, device = Path(sys.argv[1]), sys.argv[2]
by_hand = {"kind": "bag", "at": "2026-01-21T00:00:00.000Z", "person": "O", "bags": 2}
for seq in range(1, 41):
    with ShedJournal(folder) as journal:
        lines = [json.dumps({**by_hand, "device": d, "seq": seq}).encode()
                 for d in (device, "p9-z7z7")]
        found = check_lines(lines, file="f", sealed=True)
        journal.take(found.sound, (), file="f", arrived=datetime(2026, 3, 1, tzinfo=UTC))
        print(*journal.write_down([by_hand], arrived=datetime(2026, 3, 1, tzinfo=UTC)))
"""


def test_2026_11_25_two_processes_take_into_one_journal_and_no_number_is_given_twice(tmp_path):
    root = str(Path(__file__).parents[3])
    both = [subprocess.Popen([sys.executable, "-c", TAKER, str(tmp_path), device], text=True,
                             stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                             env={**os.environ, "PYTHONPATH": root})
            for device in ("p1-a2b3", "p3-k7f2")]
    said = [one.communicate(timeout=60) for one in both]
    assert [one.returncode for one in both] == [0, 0], said
    given = [name for out, _ in said for name in out.split()]
    assert sorted(given) == sorted(f"shed:{seq}" for seq in range(1, 81))
    with ShedJournal(tmp_path) as journal:
        names = [one.name for one in journal.held()]
    assert len(names) == 3 * 40 + 80
    assert len(set(names)) == len(names)


class JournalAgainstALists(RuleBasedStateMachine):
    """Random steps on the journal and on plain lists: both always tell the same."""

    @initialize()
    def begin(self):
        self.folder = tempfile.TemporaryDirectory()
        self.journal = ShedJournal(Path(self.folder.name))
        self.hour = 0
        self.arrivals = {}
        self.seals = {}
        self.records = {}
        self.lines = {}
        self.passed = set()

    def teardown(self):
        self.journal.close()
        self.folder.cleanup()

    @rule(hours=st.integers(0, 3))
    def time_goes_by(self, hours):
        self.hour += hours

    @rule()
    def open_again(self):
        self.journal.close()
        self.journal = ShedJournal(Path(self.folder.name))

    @rule(sound=st.lists(st.tuples(st.integers(1, 5), st.sampled_from([1, 2]), st.booleans()),
                         max_size=4),
          broken=st.lists(st.tuples(st.sampled_from([b"{", line(6, bags=77), line(7, bags=88)]),
                                    st.sampled_from([8, 9]), st.booleans()), max_size=3))
    def take_a_file(self, sound, broken):
        records = [held(seq, bags=bags, sealed=sealed) for seq, bags, sealed in sound]
        asides = [set_aside(raw, sealed=sealed, promised=f"{P3}:{promised}")
                  for raw, promised, sealed in broken]
        taken = self.journal.take(records, asides, file="f", arrived=at(self.hour))
        new = {(one.name, one.total) for one in records} - self.arrivals.keys()
        assert (taken.new, taken.new + taken.known) == (len(new), len(records))
        for one in records:
            self.note(one)
        for one in asides:
            first, sealed = self.lines.get((one.raw, one.name), (self.hour, False))
            self.lines[one.raw, one.name] = (first, sealed or one.sealed)

    def note(self, one, hour=None):
        key = (one.name, one.total)
        hour = self.hour if hour is None else hour
        self.records[key] = one.record
        self.arrivals.setdefault(key, hour)
        if one.sealed:
            self.seals.setdefault(key, hour)

    @rule(bags=st.sampled_from([1, 2, 77]))
    def write_down(self, bags):
        seq = 1 + sum(name.startswith("shed:") for name, _ in self.records)
        if bags == 77:
            with pytest.raises(IntakeError):
                self.journal.write_down([BY_HAND, {**BY_HAND, "bags": bags}],
                                        arrived=at(self.hour))
            return
        fields = {**BY_HAND, "bags": bags}
        assert self.journal.write_down([fields], arrived=at(self.hour)) == [f"shed:{seq}"]
        self.note(held(seq, device="shed", **fields))

    @precondition(lambda self: self.lines.keys() - self.passed)
    @rule(data=st.data())
    def let_a_line_pass(self, data):
        raw, _ = data.draw(st.sampled_from(sorted(self.lines.keys() - self.passed)))
        same = [key for key in self.lines if key[0] == raw]
        one = held(data.draw(st.integers(1, 9)), bags=3)
        self.journal.let_pass(raw, one)
        self.passed.update(same)
        self.note(one, min(self.lines[key][0] for key in same))

    @invariant()
    def both_tell_the_same(self):
        for hour in (None, self.hour, self.hour - 1):
            known_by = None if hour is None else at(hour)
            latest = self.hour if hour is None else hour
            expected = [
                Held(*key, self.records[key], self.seals.get(key, 10**9) <= latest)
                for key in sorted(self.records) if self.arrivals[key] <= latest]
            assert list(self.journal.held(known_by)) == expected
            waits = {(one.raw, one.name, one.sealed) for one in self.journal.waiting(known_by)}
            assert waits == {(*key, sealed) for key, (first, sealed) in self.lines.items()
                             if key not in self.passed and first <= latest}


TestJournalAgainstLists = JournalAgainstALists.TestCase
TestJournalAgainstLists.settings = settings(
    max_examples=60, stateful_step_count=25, deadline=None)


def test_numbers_of_a_device_are_those_sealed_or_set_aside(small):
    block = small()
    phone, alike = block.phone("p1"), block.phone("p1a", key=bytes(range(2, 34)))
    for one in (phone, alike):
        for i in range(9):
            one.note("bag", datetime(2025, 11, 10, 19, i, tzinfo=UTC), bags=1, where=None)
    phone.records[3]["bags"] = 99
    block.take({"a.handover.zip": phone.pack(1, 5), "b.handover.zip": phone.pack(8, 9),
                "c.handover.zip": alike.pack()})
    with ShedJournal(block.folder) as journal:
        assert journal.numbers_of("p1-aaaa") == ((1, 5), (8, 9))
        assert journal.numbers_of("p1a-aaaa") == ((1, 9),)
        assert journal.numbers_of("p9-zzzz") == ()
