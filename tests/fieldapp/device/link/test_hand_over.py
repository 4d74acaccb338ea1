"""A hand-over comes through, cut wherever it may be, and each record is at the shed once."""

import shutil
import threading
from datetime import UTC, datetime, timedelta

import pytest

from fieldapp.device.link import line as line_module
from fieldapp.device.link import sending, upload
from fieldapp.device.pairing import Pairing, pairing_json
from fieldapp.device.phone_folder import PhoneFolder
from fieldapp.handover import unpack

CODE, KEY = "40718253", bytes(range(32))
NOW = datetime(2026, 1, 21, 4, 30, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _short_pauses(monkeypatch):
    monkeypatch.setattr(line_module, "PAUSES_S", (0.01, 0.01, 0.01))
    monkeypatch.setattr(sending, "Line", lambda *a, **k: line_module.Line(
        *a, **k, pauses_s=line_module.PAUSES_S))


class Wired:
    """A phone paired with a small shed."""

    def __init__(self, tmp_path, there, name="phone"):
        self.there, self.shed = there, there.shed
        self.root = tmp_path / name
        self.folder = PhoneFolder(self.root)
        self.install = self.folder.pair_over_wifi(str(there.address), CODE)
        self.told = []
        self.stop = threading.Event()

    def note(self, count=1, install=None, **fields):
        with self.folder.journal(install or self.install) as journal:
            for number in range(count):
                journal.append({"kind": "mark", "at": "2026-01-20T19:10:00.000Z", "person": "MT",
                                "what": "hazard", "name": f"{number}", **fields})

    def photo(self, name, size, seed=1):
        # Bytes that no zip makes smaller.
        state, content = seed, bytearray()
        while len(content) < size:
            state = (1103515245 * state + 12345) % 2**31
            content += state.to_bytes(4, "big")[1:3]
        (self.folder.photos(self.install) / name).write_bytes(bytes(content[:size]))
        self.note(photo=name)

    def send(self, now=NOW):
        return self.folder.send_to_shed(now=now, program="0.1.0", stop=self.stop,
                                        tell=lambda have, size: self.told.append((have, size)))

    def unsent(self, install=None):
        with self.folder.journal(install or self.install) as journal:
            return journal.unsent()

    def pending(self):
        return self.root / "link" / f"{self.install.device}.handover.zip"

    def paths(self):
        return [path for _, path in self.shed.asked if not path.startswith("/phone/pair")]


@pytest.fixture
def wired(open_shed, tmp_path):
    return Wired(tmp_path, open_shed())


def one(outcome):
    (sent,) = outcome.journals
    return sent


def test_what_was_noted_is_at_the_shed_and_known_to_be(wired):
    wired.note(120)

    outcome = wired.send()

    sent = one(outcome)
    assert (sent.device, sent.records, sent.left, sent.trouble) == (
        wired.install.device, 120, 0, None)
    assert wired.unsent() == 0
    assert sorted(seq for _, seq in wired.shed.records) == list(range(1, 121))
    assert not wired.pending().exists()
    assert wired.told[-1][0] == wired.told[-1][1]
    assert outcome.for_file == 0


def test_what_is_sent_is_the_file_of_the_stick(wired):
    wired.note(3)
    (made,) = wired.folder.make_hand_overs(now=NOW, program="0.1.0")

    wired.send()

    (data,) = wired.shed.files_taken
    assert data == (wired.folder.out / made.path_name).read_bytes()


def test_with_nothing_unsent_only_the_sheet_is_fetched(wired):
    wired.note(3)
    wired.send()
    wired.shed.asked.clear()

    outcome = wired.send()

    assert wired.paths() == ["/phone/session/begin", "/phone/session", "/phone/sheet"]
    assert (one(outcome).records, one(outcome).left) == (0, 0)


def test_a_phone_that_noted_nothing_gets_its_sheet_too(wired):
    outcome = wired.send()

    assert outcome.sheet == "p3.sheet.zip"
    assert "/phone/uploads" not in wired.paths()


def test_what_the_shed_has_by_a_stick_is_not_sent_again(wired):
    wired.note(5)
    for seq in range(1, 6):
        wired.shed.records[wired.install.device, seq] = {}

    assert one(wired.send()).records == 5

    assert wired.shed.files_taken == []
    assert wired.unsent() == 0


def test_a_large_file_goes_in_parts_of_256_kib(wired):
    wired.photo("1.jpg", 700_000)

    assert one(wired.send()).left == 0

    assert wired.shed.parts[:-1] == [256 * 1024] * 2
    assert 0 < wired.shed.parts[-1] <= 256 * 1024
    assert list(unpack(wired.shed.files_taken[0]).photos) == ["1.jpg"]
    assert [have for have, _ in wired.told] == [0, 262144, 524288, wired.told[-1][1]]


def test_records_noted_while_it_is_sent_are_left_and_counted(wired):
    wired.note(4)
    right = wired.shed.answer

    def meanwhile(method, path, head, body):
        if method == "PUT":
            wired.note(2)
        return right(method, path, head, body)
    wired.shed.answer = meanwhile

    sent = one(wired.send())

    assert (sent.records, sent.left) == (4, 2)


@pytest.mark.parametrize("cut_at", [0, 1, 700, 1500, 2200, 2600, 2900, 3200, 3500, 3800, 4100,
                                    4400, 4700, 5000, 5500, 6000])
def test_a_line_cut_once_anywhere_loses_and_doubles_nothing(wired, cutter, cut_at):
    wired.note(40)
    between = cutter(wired.there.address, lambda line: cut_at if line == 1 else None)
    wired.folder.shed_at(str(between.address))

    sent = one(wired.send())

    assert (sent.records, sent.left, sent.trouble) == (40, 0, None)
    assert len(wired.shed.records) == 40
    assert len(wired.shed.files_taken) == 1
    assert not wired.pending().exists()


def test_a_line_cut_again_and_again_goes_on_from_what_the_shed_has(wired, cutter, monkeypatch):
    monkeypatch.setattr(upload, "PART", 4096)
    wired.photo("1.jpg", 120_000)
    between = cutter(wired.there.address, lambda line: 20_000)
    wired.folder.shed_at(str(between.address))

    sent = one(wired.send())

    assert (sent.left, sent.trouble) == (0, None)
    assert between.cuts > 5
    assert sum(wired.shed.parts) == len(wired.shed.files_taken[0])  # no byte was taken twice


def test_a_line_that_lets_nothing_through_is_given_up_after_a_few_tries(wired, cutter):
    wired.note(7)
    between = cutter(wired.there.address, lambda line: 2600)
    wired.folder.shed_at(str(between.address))

    outcome = wired.send()

    assert between.lines == 4
    assert one(outcome).trouble.code == "cut"
    assert "Nothing is lost" in one(outcome).trouble.why
    assert (one(outcome).records, one(outcome).left) == (0, 7)
    assert outcome.sheet == ""
    assert wired.unsent() == 7


def test_a_shed_that_is_away_is_told_with_its_address(wired):
    wired.note(7)
    wired.folder.shed_at("127.0.0.1:1")

    trouble = one(wired.send()).trouble

    assert trouble.code == "no_answer"
    assert "does not answer at 127.0.0.1:1" in trouble.why


def test_another_certificate_at_the_address_gets_nothing(wired, listener, papers):
    wired.note(7)
    there = listener(papers=papers("stranger"))
    wired.folder.shed_at(str(there.address))

    trouble = one(wired.send()).trouble
    there.stop()

    assert trouble.code == "other_shed"
    assert (there.shaken, there.came) == (1, b"")


def test_a_shed_without_this_phones_key_gets_no_record(wired):
    wired.note(7)
    right = wired.shed.answer

    def lie(method, path, head, body):
        if path != "/phone/session":
            return right(method, path, head, body)
        return 200, {"token": "t" * 32, "held": [[1, 7]], "proof": "00" * 32}
    wired.shed.answer = lie

    trouble = one(wired.send()).trouble

    assert trouble.code == "impostor"
    assert wired.unsent() == 7
    assert "/phone/uploads" not in wired.paths()


@pytest.mark.parametrize("held", [None, "1-7", [[1]], [[1, 2, 3]], [[0, 7]], [[7, 1]], [[1, 2.5]],
                                  [[True, 7]], [["1", "7"]], [[1, 2**53]], {"1": 7}])
def test_what_are_no_numbers_is_not_taken_for_held(wired, held):
    wired.note(7)
    wired.shed.held = lambda device: held

    trouble = one(wired.send()).trouble

    assert trouble.code == "no_shed"
    assert wired.unsent() == 7


@pytest.mark.parametrize("answer", [
    {}, {"have": -1}, {"have": 10**9}, {"have": "0"}, {"have": True}, {"have": 0},
    {"have": 1, "taken": None, "held": []}, {"taken": {"new": 1, "known": 0}, "held": []},
    {"taken": {"new": -1, "known": 0, "aside": 0}, "held": []},
    {"taken": {"new": 7, "known": 0, "aside": 0}}])
def test_a_part_whose_answer_makes_no_sense_ends_it_and_keeps_the_records(wired, answer):
    wired.note(7)
    right = wired.shed.answer
    wired.shed.answer = lambda *asked: (200, answer) if asked[0] == "PUT" else right(*asked)

    trouble = one(wired.send()).trouble

    assert trouble.code == "no_shed"
    assert wired.unsent() == 7
    assert wired.pending().exists()


def test_a_session_that_is_over_is_renewed_once(wired):
    wired.note(7)
    over = (401, {"refused": "the session has ended", "code": "expired"})
    wired.shed.refuse["/phone/uploads"] = [over]

    assert one(wired.send()).left == 0

    wired.note(7)
    wired.shed.refuse["/phone/uploads"] = [over, over]
    trouble = one(wired.send()).trouble
    assert trouble.code == "expired"


def test_a_busy_shed_is_asked_again(wired):
    wired.note(7)
    wired.shed.refuse["/phone/uploads"] = [(503, {"refused": "busy", "code": "busy"})] * 3

    assert one(wired.send()).left == 0


def test_a_shed_that_is_somewhere_else_in_the_file_says_where(wired):
    wired.note(7)
    wired.shed.refuse["/phone/uploads"] = [(409, {"refused": "no", "code": "not_so", "have": 3})]

    assert one(wired.send()).left == 0


@pytest.mark.parametrize("code", ["revoked", "unknown", "other_block", "too_many"])
def test_what_does_not_pass_by_itself_is_not_tried_again(wired, code):
    wired.note(7)
    wired.shed.refuse["/phone/session"] = [(403, {"refused": "ask the owner", "code": code})] * 9

    trouble = one(wired.send()).trouble

    assert (trouble.code, trouble.why) == (code, "ask the owner")
    assert wired.paths().count("/phone/session") == 1


def test_a_file_the_shed_refuses_is_told_with_its_reason_and_made_anew_the_next_time(wired):
    wired.note(7)
    right = wired.shed._take
    wired.shed._take = lambda data, device: (
        422, {"refused": "line 3: not JSON", "code": "unreadable"})

    outcome = wired.send()

    assert one(outcome).trouble.code == "unreadable"
    assert one(outcome).trouble.why == "line 3: not JSON"
    assert outcome.sheet == "p3.sheet.zip"  # it is in reach, and the sheet is of use all the same
    assert not wired.pending().exists()
    assert wired.unsent() == 7

    wired.shed._take = right
    assert one(wired.send(NOW + timedelta(hours=1))).left == 0


def test_killed_in_the_middle_it_goes_on_with_the_same_bytes(wired):
    """The app ends after the second part; another record is noted before it starts again."""
    wired.photo("1.jpg", 700_000)
    wired.folder.send_to_shed(now=NOW, program="0.1.0", stop=wired.stop,
                              tell=lambda have, size: wired.stop.set() if have > 300_000 else None)
    before = wired.pending().read_bytes()
    parts, wired.stop = list(wired.shed.parts), threading.Event()
    assert sum(parts) == 524288
    wired.note()

    sent = one(wired.send(NOW + timedelta(hours=2)))

    assert (sent.records, sent.left) == (2, 0)
    assert wired.shed.files_taken[0] == before
    assert sum(wired.shed.parts[:3]) == len(before)
    assert len(wired.shed.files_taken) == 2
    assert unpack(wired.shed.files_taken[1]).manifest.first_seq == 2


def test_closing_the_app_ends_it_and_loses_nothing(wired):
    wired.note(7)
    wired.stop.set()

    outcome = wired.send()

    assert one(outcome).trouble.code == "stopped"
    assert wired.unsent() == 7


def test_a_pending_file_that_the_shed_has_by_now_is_dropped(wired):
    wired.note(7)
    wired.shed.refuse["/phone/uploads"] = [(403, {"refused": "no", "code": "revoked"})]
    wired.send()
    assert wired.pending().exists()
    for seq in range(1, 8):
        wired.shed.records[wired.install.device, seq] = {}

    assert one(wired.send()).left == 0

    assert not wired.pending().exists()
    assert wired.shed.parts == []


@pytest.mark.parametrize("rotten", [b"", b"moss" * 100, None])
def test_a_pending_file_that_is_damaged_or_of_a_former_key_is_made_anew(wired, rotten):
    wired.note(7)
    wired.shed.refuse["/phone/uploads"] = [(403, {"refused": "no", "code": "revoked"})]
    wired.send()
    if rotten is None:
        wired.shed.key = bytes(32)
        wired.folder.pair_over_wifi(str(wired.there.address), CODE)
    else:
        wired.pending().write_bytes(rotten)

    assert one(wired.send()).left == 0


def test_the_answer_to_the_last_part_may_be_lost(wired):
    """The shed has taken the file, and the phone never hears of it: it asks, and sends nothing."""
    wired.note(7)
    right = wired.shed.answer

    def lose(method, path, head, body):
        answer = right(method, path, head, body)
        if method == "PUT":
            raise ConnectionError
        return answer
    wired.shed.answer = lose

    sent = one(wired.send())

    assert (sent.records, sent.left, sent.trouble) == (7, 0, None)
    assert len(wired.shed.files_taken) == 1


def test_a_part_cut_short_is_gone_on_with_where_it_was_cut(wired):
    """As the shed keeps what came of a part: the next begins in the middle of it."""
    wired.photo("1.jpg", 300_000)
    right, cuts = wired.shed.answer, [1000, 77]

    def cut(method, path, head, body):
        if method == "PUT" and cuts:
            right(method, path, head, body[:cuts.pop()])
            raise ConnectionError
        return right(method, path, head, body)
    wired.shed.answer = cut

    assert one(wired.send()).left == 0

    assert wired.shed.parts[:2] == [77, 1000]
    assert len(wired.shed.files_taken) == 1


def test_every_journal_of_the_block_with_a_key_is_sent_and_what_has_none_is_told(
        open_shed, tmp_path):
    there = open_shed()
    folder = PhoneFolder(tmp_path / "phone")
    unpaired = folder.in_use()
    folder.bring("p9.pairing.json", pairing_json(Pairing("km7q2x4a", "Kettle Mire", "p9", KEY)))
    folder.bring("p1.pairing.json", pairing_json(Pairing("zz3b8c1d", "Long Bog", "p1", KEY)))
    folder.take_in()
    bog, former = (next(one for one in folder.installs() if one.device.startswith(code))
                   for code in ("p1", "p9"))
    wired = Wired(tmp_path, there)
    for install, count in ((unpaired, 12), (former, 3), (bog, 4), (wired.install, 5)):
        wired.note(count, install)

    outcome = wired.send()

    assert [(one.device, one.records) for one in outcome.journals] == [
        (former.device, 3), (wired.install.device, 5)]
    assert outcome.for_file == 12
    assert (wired.unsent(bog), wired.unsent(unpaired)) == (4, 12)


def test_a_journal_that_cannot_be_read_holds_up_no_other(open_shed, tmp_path):
    folder = PhoneFolder(tmp_path / "phone")
    folder.bring("p9.pairing.json", pairing_json(Pairing("km7q2x4a", "Kettle Mire", "p9", KEY)))
    folder.take_in()
    former = folder.in_use()
    wired = Wired(tmp_path, open_shed())
    wired.note(2, former)
    wired.note(5)
    for left in (wired.root / former.device).glob("journal.sqlite*"):
        left.write_bytes(b"rotten" * 1000)

    broken, sound = wired.send().journals

    assert broken.trouble.code == "storage"
    assert "keep it" in broken.trouble.why
    assert (sound.records, sound.left) == (5, 0)


def test_a_revoked_former_phone_holds_up_no_other(open_shed, tmp_path):
    folder = PhoneFolder(tmp_path / "phone")
    folder.bring("p9.pairing.json", pairing_json(Pairing("km7q2x4a", "Kettle Mire", "p9", KEY)))
    folder.take_in()
    former = folder.in_use()
    wired = Wired(tmp_path, open_shed())
    wired.note(2, former)
    wired.note(5)
    wired.shed.refuse["/phone/session"] = [(403, {"refused": "ask", "code": "revoked"})]

    broken, sound = wired.send().journals

    assert broken.trouble.code == "revoked"
    assert (sound.records, sound.left) == (5, 0)


def test_the_sheet_waits_to_be_taken_in_and_its_seal_is_still_tried(wired):
    wired.shed.sheet = b"no sheet at all"

    outcome = wired.send()

    assert outcome.sheet == "p3.sheet.zip"
    (taken,) = wired.folder.take_in()
    assert (taken.name, taken.kind) == ("p3.sheet.zip", "refused")


def test_a_sheet_that_the_shed_refuses_is_told_and_the_records_are_over(wired):
    wired.note(7)
    wired.shed.refuse["/phone/sheet"] = [(403, {"refused": "for the new one",
                                                "code": "not_paired"})]

    outcome = wired.send()

    assert one(outcome).left == 0
    assert (outcome.sheet, outcome.trouble.code) == ("", "not_paired")


def test_a_phone_without_room_for_the_file_says_so(wired, monkeypatch):
    wired.note(7)
    shutil.rmtree(wired.root / "link")

    trouble = one(wired.send()).trouble

    assert trouble.code == "storage"
    assert wired.unsent() == 7
