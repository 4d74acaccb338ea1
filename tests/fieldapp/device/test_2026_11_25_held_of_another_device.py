"""A sheet's `held` did not say of which device it was.

An app installed again takes the same pairing file and is another device under the same phone code
and key. It believed the former device's numbers to be its own, and so never handed over what it
noted under them.
"""

from datetime import UTC, datetime

import pytest

from fieldapp.device.pairing import Pairing, pairing_json
from fieldapp.device.phone_folder import PhoneFolder
from fieldapp.ground import pack_sheet
from fieldapp.handover import unpack
from fieldapp.record import parse_line

KEY = bytes(range(32))
PAIRING = pairing_json(Pairing("km7q2x4a", "Kettle Mire", "p3", KEY))
SQUARE = [[[[0, 0], [100, 0], [100, 100], [0, 100], [0, 0]]]]
NOT_SAID = object()


def sheet_file(held, held_of=NOT_SAID):
    obj = {
        "sheet": 1, "id": "0a1b2c3d", "block": {"id": "km7q2x4a", "name": "Kettle Mire"},
        "for": "p3", "made_at": "2026-01-20T05:00:00.000Z",
        "good_until": "2026-02-16T05:00:00.000Z", "zone": "Pacific/Auckland",
        "season_start": "07-01", "cell_m": 100, "outline": SQUARE,
        "map": {"at": [-42.86, 169.69], "to_m": [[0, 0, 81600, 0, 0, 0], [0, 111100, 0, 0, 0, 0]],
                "to_deg": [[0, 0, 1 / 111100, 0, 0, 0], [0, 1 / 81600, 0, 0, 0, 0]]},
        "cells": [], "closures": [], "pegs": [], "marks": [], "permits": [], "people": [],
        "plots": [], "probes": 3, "frame_m": 0.5, "check_in_min": 60, "declination_deg": 23.6,
        "gate": None, "bag_types": [{"type": "sack", "wet_kg": 88, "dry_kg": 6.8}],
        "label_from": 15, "held": held}
    if held_of is not NOT_SAID:
        obj["held_of"] = held_of
    return pack_sheet(obj, program="0.1.0", key=KEY)


def installed(root):
    phone = PhoneFolder(root)
    phone.bring("p3.pairing.json", PAIRING)
    phone.take_in()
    return phone, phone.in_use()


def note(phone, install, count):
    with phone.journal(install) as journal:
        for _ in range(count):
            journal.append({"kind": "mark", "at": "2026-01-20T19:10:00.000Z", "person": "MT",
                            "what": "hazard", "name": ""})


def handed_over(phone):
    made = phone.make_hand_overs(now=datetime(2026, 1, 21, tzinfo=UTC), program="0.1.0")
    return [parse_line(line)["seq"] for one in made
            for line in unpack((phone.out / one.path_name).read_bytes()).lines]


@pytest.fixture
def former(tmp_path):
    _, install = installed(tmp_path / "former")
    return install.device


@pytest.fixture
def again(tmp_path):
    return installed(tmp_path / "again")


def test_an_app_installed_again_hands_over_all_it_noted(again, former):
    phone, install = again
    assert install.device != former
    note(phone, install, 3)
    phone.bring("p3.sheet.zip", sheet_file([[1, 8]], former))

    (taken,) = phone.take_in()

    assert (taken.kind, taken.device) == ("sheet", install.device)
    with phone.journal(install) as journal:
        assert journal.acknowledged() == ()
        assert journal.unsent() == 3
    assert handed_over(phone) == [1, 2, 3]


def test_its_own_numbers_are_not_handed_over_again(again):
    phone, install = again
    note(phone, install, 3)
    phone.bring("p3.sheet.zip", sheet_file([[1, 2]], install.device))
    phone.take_in()

    assert handed_over(phone) == [3]


@pytest.mark.parametrize("more", [(), (None,)])
def test_where_the_sheet_does_not_say_whose_they_are_all_is_handed_over(again, more):
    phone, install = again
    note(phone, install, 3)
    phone.bring("p3.sheet.zip", sheet_file([[1, 2]], *more))
    phone.take_in()

    assert handed_over(phone) == [1, 2, 3]
