"""Bags from closed ground and from outside the block: chances by the normal law, in groups."""

from datetime import UTC, date, datetime, timedelta
from statistics import NormalDist

import pytest

from sync.block import Feature
from sync.disk.load import load_inputs
from sync.flags.raised import flags_of
from sync.register.build import build

DAY = datetime(2025, 11, 10, 20, tzinfo=UTC)
#: 68 % radius of a circular normal in standard deviations.
R68 = 1.5095921855


def chance(distance_m: float, acc_m: float) -> float:
    return NormalDist().cdf(distance_m * R68 / acc_m)


def flags_on(block, phone, on=date(2026, 2, 20)):
    block.take({f"{len(phone.records)}.handover.zip": phone.pack()})
    register = build(load_inputs(block.folder), on=on)
    return {flag.name: flag for flag in flags_of(register)}, register


def presses(phone, places, *, person="MT", cell=None, minutes=20):
    phone.note("outing", DAY, person, state="start", role="picker", cell=cell, where=None)
    for i, (x, y, bags) in enumerate(places):
        phone.bag(DAY + timedelta(minutes=10 + minutes * i), x, y, bags=bags, person=person)


def test_two_groups_outside_the_block_make_a_flag_of_their_exact_chance(small):
    block = small()
    phone = block.phone("p1")
    presses(phone, [(303, 150, 1), (301, 60, 2)])
    flags, _ = flags_on(block, phone)
    flag = flags["outside_block:p1-aaaa:2025"]
    one, two = chance(3, 4), chance(1, 4)
    # At least two bags: the group of two, whatever the single bag.
    assert flag.probability == pytest.approx(two, abs=1e-9)
    assert flag.figures["bags"] == pytest.approx(one + 2 * two, abs=1e-6)
    assert flag.figures["kg"] == pytest.approx(7.0 * (one + 2 * two), abs=1e-5)
    assert flag.cell is None
    assert flag.how_sure == "likely"


def test_presses_of_one_group_share_their_error(small):
    block = small()
    phone = block.phone("p1")
    presses(phone, [(301, 150, 1), (301, 151, 1)], minutes=3)
    flags, _ = flags_on(block, phone)
    assert flags["outside_block:p1-aaaa:2025"].probability == pytest.approx(chance(1, 4), abs=1e-3)


def test_thirty_bags_well_inside_do_not_cry_wolf(small):
    block = small()
    phone = block.phone("p1")
    presses(phone, [(293.84, 150, 1)] * 30)
    flags, register = flags_on(block, phone)
    assert register.known.placed[0].outside == pytest.approx(0.01, abs=5e-4)
    assert not [name for name in flags if name.startswith("outside_block")]


def test_bags_on_a_closure_are_flagged_in_its_cell(small):
    from_conftest = small("plain")
    ring = [[from_conftest.lonlat(x, y) for x, y in
             ((200, 100), (300, 100), (300, 200), (200, 200), (200, 100))]]
    closure = Feature({"type": "Polygon", "coordinates": ring}, {"why": "nesting"})
    block = small(closures=[closure])
    phone = block.phone("p1")
    presses(phone, [(203, 150, 2), (202, 150, 2)])
    flags, register = flags_on(block, phone)
    flag = flags["closed_ground:C02:2025"]
    one, two = chance(3, 4), chance(2, 4)
    assert flag.probability == pytest.approx(1 - (1 - one) * (1 - two), abs=1e-6)
    assert register.cells["C02"].state == "closed"


def test_a_cell_confirmed_for_the_day_settles_a_fix_on_its_border(small):
    block = small()
    phone = block.phone("p1")
    presses(phone, [(96, 150, 1)], cell="B02")
    _, register = flags_on(block, phone)
    assert register.known.placed[0].chances == {"B02": 1.0}
    assert register.known.placed[0].how == "confirmed"


def test_a_fix_far_from_the_confirmed_cell_is_believed_instead(small):
    block = small()
    phone = block.phone("p1")
    presses(phone, [(50, 150, 1)], cell="B02")
    _, register = flags_on(block, phone)
    assert register.known.placed[0].how == "fix"
    assert register.known.placed[0].chances["A02"] == pytest.approx(1.0)


def test_somebody_elses_bag_goes_by_its_own_fix_not_by_the_carriers_cell(small):
    block = small()
    phone = block.phone("p1")
    phone.note("outing", DAY, state="start", role="picker", cell="B02", where=None)
    phone.bag(DAY + timedelta(minutes=10), 96, 150, **{"for": "RK"})
    _, register = flags_on(block, phone)
    placed = register.known.placed[0]
    assert placed.how == "fix"
    assert placed.chances["A02"] == pytest.approx(chance(4, 4), abs=1e-6)


def test_late_data_change_a_flag_and_open_its_ruling_but_not_its_name(small):
    block = small()
    phone = block.phone("p1")
    presses(phone, [(320, 150, 2)])
    flags, _ = flags_on(block, phone)
    flag = flags["outside_block:p1-aaaa:2025"]
    phone_of_owner = {"kind": "ruling", "at": "2026-02-01T00:00:00.000Z", "person": "O",
                      "where": None, "flag": flag.name, "says": "agreed", "seen": flag.seen}
    from sync.disk.journal import ShedJournal

    with ShedJournal(block.folder) as journal:
        journal.write_down([phone_of_owner], arrived=datetime(2026, 2, 1, tzinfo=UTC))
    ruled, _ = flags_on(block, phone)
    assert ruled[flag.name].ruling.stands is True
    phone.bag(DAY + timedelta(hours=3), 330, 150, bags=2)
    later, _ = flags_on(block, phone)
    assert later[flag.name].ruling.says == "agreed"
    assert later[flag.name].ruling.stands is False
