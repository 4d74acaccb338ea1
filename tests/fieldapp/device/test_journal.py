import sqlite3
import threading
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
)

from fieldapp.device.journal import Journal, JournalError
from fieldapp.device.journal_file import WAIT_S
from fieldapp.record import RecordError

AT = "2026-01-20T19:10:00.000Z"
DEVICE = "p3-k7f2"
BAG = {"kind": "bag", "at": AT, "person": "MT", "bags": 1}
TRACK = {"kind": "track", "at": AT, "person": "MT", "t0": AT, "dt_ms": [0] * 400,
         "lat_e7": [-428571000] * 400, "lon_e7": [1696941000] * 400}


@pytest.fixture
def path(tmp_path):
    return tmp_path / "journal.sqlite"


@pytest.fixture
def journal(path):
    with Journal.open(path, device=DEVICE) as opened:
        yield opened


def fill(journal):
    for number in range(1, 40):
        journal.append(TRACK, drop_draft=f"draft-{number}")


class JournalAgainstAList(RuleBasedStateMachine):
    """A journal, opened by two, does what a plain list of records and a dict of drafts do."""

    def __init__(self):
        super().__init__()
        self.folder = TemporaryDirectory()
        self.path = Path(self.folder.name) / "journal.sqlite"
        self.hands = [Journal.open(self.path, device=DEVICE) for _ in range(2)]
        self.written = []
        self.drafts = {}
        self.held = set()
        self.next_seq = 1

    def teardown(self):
        for hand in self.hands:
            hand.close()
        self.folder.cleanup()

    hand = st.integers(0, 1)
    name = st.sampled_from(["031", "032", "outing"])

    @initialize()
    def starts_empty(self):
        assert self.hands[0].last_seq() == 0

    @rule(hand=hand, bags=st.integers(1, 80), drop=st.none() | name)
    def a_bag_is_noted(self, hand, bags, drop):
        record = {**BAG, "bags": bags / 2}
        whole = self.hands[hand].append(record, drop_draft=drop)
        assert whole == {**record, "device": DEVICE, "seq": self.next_seq}
        self.written.append(whole)
        self.next_seq += 1
        self.drafts.pop(drop, None)

    @rule(hand=hand, drop=name, broken=st.sampled_from([
        {**BAG, "bags": 0}, {**BAG, "device": DEVICE}, {**BAG, "seq": 1}, {"kind": "moon"},
        {**BAG, "wind": float("nan")}, {**BAG, "note": "\ud800"}, {**BAG, "x": "\ud800"}]))
    def a_broken_record_changes_nothing(self, hand, drop, broken):
        with pytest.raises(RecordError):
            self.hands[hand].append(broken, drop_draft=drop)

    @precondition(lambda self: self.written)
    @rule(hand=hand, data=st.data())
    def one_is_taken_back(self, hand, data):
        seq = data.draw(st.sampled_from([record["seq"] for record in self.written]))
        of = {"kind": "void", "at": AT, "person": "MT", "of": f"{DEVICE}:{seq}"}
        self.written.append(self.hands[hand].append(of))
        self.next_seq += 1

    @rule(hand=hand, name=name, depths=st.lists(st.integers(0, 800), max_size=3))
    def a_draft_is_kept(self, hand, name, depths):
        self.hands[hand].keep_draft(name, {"depth_mm": depths})
        self.drafts[name] = {"depth_mm": depths}

    @rule(hand=hand, name=name)
    def a_draft_is_dropped(self, hand, name):
        self.hands[hand].drop_draft(name)
        self.drafts.pop(name, None)

    @rule(hand=hand, spans=st.lists(st.tuples(st.integers(1, 30), st.integers(0, 9)), max_size=3))
    def the_shed_answers(self, hand, spans):
        told = [(first, min(first + more, self.next_seq - 1)) for first, more in spans
                if first < self.next_seq]
        self.hands[hand].acknowledge(told)
        self.held.update(seq for first, last in told for seq in range(first, last + 1))

    @rule(hand=hand)
    def one_is_closed_and_opened_again(self, hand):
        self.hands[hand].close()
        self.hands[hand] = Journal.open(self.path, device=DEVICE)

    @invariant()
    def both_tell_the_same(self):
        for hand in self.hands:
            assert list(hand.records()) == self.written
            assert hand.drafts() == self.drafts
            assert hand.last_seq() == self.next_seq - 1
            assert {seq for first, last in hand.acknowledged()
                    for seq in range(first, last + 1)} == self.held
            free = next(seq for seq in range(1, self.next_seq + 1) if seq not in self.held)
            assert hand.first_unsent() == free
            assert hand.unsent() == len(self.written) - len(self.held)


TestJournalAgainstAList = JournalAgainstAList.TestCase
TestJournalAgainstAList.settings = settings(max_examples=25, stateful_step_count=25, deadline=None)


def test_numbers_begin_at_one_and_leave_no_hole(journal):
    names = [journal.append(BAG)["seq"] for _ in range(5)]

    assert names == [1, 2, 3, 4, 5]
    assert journal.record(3) == {**BAG, "device": DEVICE, "seq": 3}
    assert journal.record(6) is None
    assert [record["seq"] for record in journal.records(2, 4)] == [2, 3, 4]


def test_more_than_a_page_is_read_in_order(journal, monkeypatch):
    monkeypatch.setattr("fieldapp.device.journal._PAGE", 3)
    for _ in range(10):
        journal.append(BAG)

    assert [record["seq"] for record in journal.records()] == list(range(1, 11))


def test_a_record_with_problems_says_them_all_and_takes_no_number(journal):
    with pytest.raises(RecordError, match=r"bags=0\.3 .*; note=3"):
        journal.append({**BAG, "bags": 0.3, "note": 3})

    assert journal.append(BAG)["seq"] == 1


def test_a_record_longer_than_a_line_may_be_is_refused(journal):
    with pytest.raises(RecordError, match="100 kB"):
        journal.append({**BAG, "drawing": "x" * 100_000})

    assert journal.last_seq() == 0


@pytest.mark.parametrize("statement", [
    "DELETE FROM records WHERE seq = 1", "DELETE FROM records",
    "UPDATE records SET line = x'00' WHERE seq = 2", "UPDATE records SET seq = 9 WHERE seq = 3",
    "INSERT OR REPLACE INTO records VALUES (2, x'00')", "REPLACE INTO records VALUES (3, x'00')",
    "INSERT INTO records VALUES (2, x'00') ON CONFLICT (seq) DO UPDATE SET line = x'00'",
    "INSERT INTO records VALUES (0, x'00')"])
def test_nobody_changes_or_deletes_a_record_even_by_hand(journal, path, statement):
    for _ in range(3):
        journal.append(BAG)
    before = list(journal.records())

    by_hand = sqlite3.connect(path)
    with pytest.raises(sqlite3.IntegrityError):
        by_hand.execute(statement)
    by_hand.close()

    assert list(journal.records()) == before


def test_it_is_on_disk_before_it_is_given_back(journal, path):
    journal.append(BAG)

    assert journal._connection.execute("PRAGMA synchronous").fetchone() == (2,)
    assert journal._connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    other = sqlite3.connect(path)
    assert other.execute("SELECT count(*) FROM records").fetchone() == (1,)
    other.close()


def test_a_full_disk_loses_the_press_whole_and_the_next_gets_its_number(journal):
    for number in range(1, 40):
        journal.keep_draft(f"draft-{number}", {"depth_mm": [80]})
    pages = journal._connection.execute("PRAGMA page_count").fetchone()[0]
    journal._connection.execute(f"PRAGMA max_page_count = {pages}")

    with pytest.raises(JournalError, match="no room") as told:
        fill(journal)

    written = journal.last_seq()
    assert told.value.cause == "full"
    assert [record["seq"] for record in journal.records()] == list(range(1, written + 1))
    assert journal.draft(f"draft-{written + 1}") == {"depth_mm": [80]}
    assert journal.draft(f"draft-{written}") is None
    journal._connection.execute("PRAGMA max_page_count = 100000")
    assert journal.append(TRACK)["seq"] == written + 1


def test_a_journal_held_by_another_is_told_as_locked_and_nothing_is_written(journal, path):
    journal._connection.execute("PRAGMA busy_timeout = 50")
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")

    with pytest.raises(JournalError, match="another program") as told:
        journal.append(BAG)

    other.close()
    assert told.value.cause == "locked"
    assert journal.append(BAG)["seq"] == 1
    assert WAIT_S >= 1


def test_the_journal_of_another_device_is_not_opened(path):
    Journal.open(path, device=DEVICE).close()

    with pytest.raises(JournalError, match="the journal is of p3-k7f2") as told:
        Journal.open(path, device="p4-aaaa")

    assert told.value.cause == "another_device"


@pytest.mark.parametrize("content", [b"not a database at all" * 100, b"SQLite format 3\0" * 400])
def test_a_file_that_is_no_journal_is_told_as_damaged(path, content):
    path.write_bytes(content)

    with pytest.raises(JournalError, match="keep") as told:
        Journal.open(path, device=DEVICE)

    assert told.value.cause == "damaged"
    assert path.read_bytes() == content


def test_the_database_of_another_program_is_left_alone(path):
    other = sqlite3.connect(path)
    other.execute("CREATE TABLE tunes (name TEXT)")
    other.close()

    with pytest.raises(JournalError, match="another program"):
        Journal.open(path, device=DEVICE)


def test_a_damaged_page_is_told_and_not_read_as_records(path):
    with Journal.open(path, device=DEVICE) as journal:
        for _ in range(200):
            journal.append(TRACK)
    content = bytearray(path.read_bytes())
    content[len(content) // 2:len(content) // 2 + 8192] = bytes(8192)
    path.write_bytes(content)

    with Journal.open(path, device=DEVICE) as journal:
        with pytest.raises(JournalError, match="damaged"):
            list(journal.records())
        with pytest.raises(JournalError, match="damaged"):
            journal.check()


def noted(path, count=5):
    """Write bags whose notes are bag 1, bag 2 and so on, and let go of the file."""
    with Journal.open(path, device=DEVICE) as journal:
        for number in range(1, count + 1):
            journal.append({**BAG, "note": f"bag {number}."})


def damage(path, old, new):
    content = path.read_bytes()
    assert content.count(old) == 1
    assert len(old) == len(new)
    path.write_bytes(content.replace(old, new))


@pytest.mark.parametrize("rotten", [
    b'"note":"bag %d\0"', b'"note":"bag %d\xff"', b'"note":"bag %d. ', b'"kind":"bag %d."'],
    ids=["no letter", "no UTF-8", "no end", "a key twice"])
@pytest.mark.parametrize("which", [1, 3, 5])
def test_a_damaged_row_hides_none_of_its_neighbours(path, rotten, which):
    noted(path)
    damage(path, b'"note":"bag %d."' % which, rotten % which)

    with Journal.open(path, device=DEVICE) as journal:
        found = [record["seq"] for record in journal.records()]

        assert found == [seq for seq in range(1, 6) if seq != which]
        assert journal.damaged == (which,)
        assert journal.record(which) is None
        assert journal.last_seq() == 5
        assert journal.append(BAG)["seq"] == 6


def test_a_row_that_says_another_number_than_its_own_is_damaged(path):
    noted(path)
    damage(path, b'bag 3.","person":"MT","seq":3', b'bag 3.","person":"MT","seq":4')

    with Journal.open(path, device=DEVICE) as journal:
        assert [record["note"] for record in journal.records()] == [
            "bag 1.", "bag 2.", "bag 4.", "bag 5."]
        assert journal.damaged == (3,)


def test_a_journal_whose_rows_are_all_damaged_gives_none_and_comes_to_an_end(path):
    noted(path, 501)
    path.write_bytes(path.read_bytes().replace(b'"kind"', b'"kind '))

    with Journal.open(path, device=DEVICE) as journal:
        assert list(journal.records()) == []
        assert journal.damaged == tuple(range(1, 502))


@pytest.fixture(scope="module")
def sound_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("sound") / "journal.sqlite"
    noted(path, 60)
    return path.read_bytes()


@settings(max_examples=150, deadline=None,
          suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_whichever_byte_is_damaged_what_it_gives_is_in_order_or_it_says_so(sound_file, data):
    content = bytearray(sound_file)
    content[data.draw(st.integers(0, len(content) - 1))] ^= data.draw(st.integers(1, 255))
    with TemporaryDirectory() as folder:
        path = Path(folder) / "journal.sqlite"
        path.write_bytes(content)
        try:
            with Journal.open(path, device=DEVICE) as journal:
                found = [record["seq"] for record in journal.records()]
        except JournalError:
            return
    assert found == sorted(set(found))


def test_a_sound_journal_passes_its_check(journal):
    journal.append(BAG)

    journal.check()


def test_a_folder_that_is_not_there_is_told(tmp_path):
    with pytest.raises(JournalError) as told:
        Journal.open(tmp_path / "none" / "journal.sqlite", device=DEVICE)

    assert told.value.cause == "no_file"


def test_a_device_name_that_is_none_is_our_own_mistake(path):
    with pytest.raises(RecordError):
        Journal.open(path, device="phone 3")


def test_threads_of_one_program_take_turns(journal):
    def note():
        for _ in range(30):
            journal.append(BAG)

    threads = [threading.Thread(target=note) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert [record["seq"] for record in journal.records()] == list(range(1, 121))


def test_a_journal_set_back_never_gives_a_number_the_shed_holds(journal):
    journal.append(BAG)
    journal.acknowledge([(1, 40)])

    assert journal.append(BAG)["seq"] == 41


def test_spans_the_shed_holds_are_joined(journal):
    journal.acknowledge([(1, 2), (5, 9)])
    journal.acknowledge([(3, 3), (8, 12), (20, 20)])
    journal.acknowledge([])

    assert journal.acknowledged() == ((1, 3), (5, 12), (20, 20))
    assert journal.first_unsent() == 4
    with pytest.raises(RecordError):
        journal.acknowledge([(3, 2)])


def test_a_draft_survives_without_being_closed(path):
    left_open = Journal.open(path, device=DEVICE)
    left_open.keep_draft("031", {"cover_pct": 60, "depth_mm": [80]})

    with Journal.open(path, device=DEVICE) as again:
        assert again.draft("031") == {"cover_pct": 60, "depth_mm": [80]}
        assert again.draft("032") is None
    left_open.close()


def test_a_journal_of_a_later_program_is_not_written_to(path):
    Journal.open(path, device=DEVICE).close()
    by_hand = sqlite3.connect(path)
    by_hand.execute("PRAGMA user_version = 99")
    by_hand.close()

    with pytest.raises(JournalError, match="later program"):
        Journal.open(path, device=DEVICE)
