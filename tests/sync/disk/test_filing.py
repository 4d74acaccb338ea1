"""Filing a return: a copy first, then the record, which the return by that time never sees."""

import hashlib
from datetime import UTC, date, datetime

import pytest

from sync.disk.filing import file_return, known_until
from sync.disk.journal import ShedJournal
from sync.disk.load import load_inputs
from sync.errors import IntakeError
from sync.report.permit import returns_json, returns_of

PERMIT = '[[permit]]\npermit = "a/../b ö"\nyear_start = "09-01"\ncap = 10\ncap_unit = "kg_wet"\n'
AT = datetime(2026, 3, 1, 12, 0, 0, 5000, tzinfo=UTC)


@pytest.fixture
def folder(small):
    made = small(permits=PERMIT)
    phone = made.phone("p1")
    phone.bag(datetime(2025, 11, 10, 21, tzinfo=UTC), 150, 150, bags=3)
    made.take({"a.handover.zip": phone.pack()}, datetime(2026, 2, 1, tzinfo=UTC))
    return made.folder


def made(folder, known_by=AT):
    inputs = load_inputs(folder, known_by=known_by)
    (one,) = returns_of(inputs, [(inputs.block.permits[0], 2025)], asked=date(2026, 3, 5))
    return one


def notices(folder):
    with ShedJournal(folder) as journal:
        return [one.record for one in journal.held() if one.record["kind"] == "notice"]


def test_a_time_is_kept_to_the_millisecond_and_never_later():
    assert known_until(AT.replace(microsecond=5999)) == AT
    assert known_until(AT) == AT


def test_a_return_filed_at_the_very_time_it_was_known_by_is_made_again_to_the_byte(folder):
    one = made(folder)
    filing = file_return(folder, one, by="O", known_by=AT, now=AT)
    assert filing.before is None
    assert returns_json([made(folder).document]).encode() == filing.copy.read_bytes()
    (record,) = notices(folder)
    assert record["sum"] == hashlib.sha256(filing.copy.read_bytes()).hexdigest()
    assert record["taken"] is None, "no record tells wet kg: nothing is made up"


def test_whatever_a_permit_is_called_its_copy_stays_in_the_reports(folder):
    filing = file_return(folder, made(folder), by="O", known_by=AT, now=AT)
    assert filing.copy.parent == folder / "reports"
    assert filing.copy.name.startswith("return-a-b-2025-")


def test_a_copy_that_cannot_be_written_leaves_no_record(folder):
    if (folder / "reports").is_dir():
        (folder / "reports").rmdir()
    (folder / "reports").write_text("a file where the folder should be")
    with pytest.raises(OSError, match="reports"):
        file_return(folder, made(folder), by="O", known_by=AT, now=AT)
    assert notices(folder) == []


def test_a_person_code_that_is_none_is_refused(folder):
    with pytest.raises(IntakeError, match="person='nobody'"):
        file_return(folder, made(folder), by="nobody", known_by=AT, now=AT)
    assert notices(folder) == []


def test_the_same_figures_are_filed_once_and_others_again(folder):
    first = file_return(folder, made(folder), by="O", known_by=AT, now=AT)
    later = AT.replace(day=2)
    again = file_return(folder, made(folder, later), by="O", known_by=later, now=later)
    assert (again.record, again.copy) == (first.record, None)
    with ShedJournal(folder) as journal:
        journal.write_down([{"kind": "bag", "at": "2025-11-11T00:00:00.000Z", "person": "O",
                             "where": None, "bags": 2, "cell": "B02"}], arrived=later)
    other = file_return(folder, made(folder, AT.replace(day=3)), by="O",
                        known_by=AT.replace(day=3), now=AT.replace(day=3))
    assert (other.before, other.record) == (first.record, "shed:3")
    assert other.copy not in {first.copy, None}
