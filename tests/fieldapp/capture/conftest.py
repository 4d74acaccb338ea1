"""A plain notebook, a small ground and a clock that the test moves."""

import json
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from fieldapp.ground import sheet_of
from fieldapp.record import Where, canonical, problems

AT = (-42.86, 169.69)
M_PER_DEG = (111_100.0, 81_600.0)


class PlainBook:
    """A notebook as a list: what a journal does, without a disk."""

    def __init__(self, device="p3-k7f2"):
        self.device = device
        self.kept = []
        self.drafts = {}
        self.broken = False

    def _write(self):
        if self.broken:
            raise OSError("no room")

    def append(self, record, *, drop_draft=None):
        self._write()
        assert not {"device", "seq"} & record.keys()
        whole = {**record, "device": self.device, "seq": self.last_seq() + 1}
        assert problems(whole) == (), problems(whole)
        self.kept.append(canonical(whole))
        if drop_draft is not None:
            self.drafts.pop(drop_draft, None)
        return json.loads(self.kept[-1])

    def records(self, first=1, last=None):
        return (json.loads(line) for line in self.kept[first - 1:last])

    def record(self, seq):
        return json.loads(self.kept[seq - 1]) if 1 <= seq <= len(self.kept) else None

    def last_seq(self):
        return len(self.kept)

    def keep_draft(self, name, draft):
        self._write()
        self.drafts[name] = canonical(draft)

    def draft(self, name):
        return json.loads(self.drafts[name]) if name in self.drafts else None

    def drop_draft(self, name):
        self._write()
        self.drafts.pop(name, None)


class Hand:
    """A moment and a place, ready to be given to any capture object."""

    def __init__(self):
        # 07:40 of 21 January 2026 at the block.
        self.now = datetime(2026, 1, 20, 18, 40, tzinfo=UTC)
        self.where = self.at(150.0, 50.0)

    def at(self, x, y, *, acc_m=4.0, age_s=1.0):
        return Where(AT[0] + y / M_PER_DEG[0], AT[1] + x / M_PER_DEG[1], age_s, acc_m)

    def go(self, x, y, **fix):
        self.where = self.at(x, y, **fix)

    def wait(self, **time):
        self.now += timedelta(**time)

    def __call__(self, **time):
        self.wait(**time)
        return {"now": self.now, "where": self.where}


def box(west, south, east, north):
    return [[[[west, south], [east, south], [east, north], [west, north], [west, south]]]]


def plot(name, cell, x, y, **more):
    return {"plot": name, "cell": cell, "at": [x, y], "when": "survey", "spare": False,
            "again": False, "ground_class": "lawn", **more}


def sheet_json_of(**changes):
    cells = [{"cell": name, "shape": box(100 * k, 0, 100 * k + 100, 100), "ground_class": "lawn",
              "state": "ready", "why": "ready", "rest_ends": None, "then": None, "left_kg": 900,
              "left_bags": 130} for k, name in enumerate(["A01", "B01", "C01"])]
    return {
        "sheet": 1, "id": "0a1b2c3d", "block": {"id": "km7q2x4a", "name": "Kettle Mire"},
        "for": "p3", "made_at": "2026-01-20T05:00:00.000Z",
        "good_until": "2026-01-27T05:00:00.000Z", "zone": "Pacific/Auckland",
        "season_start": "07-01",
        "map": {"at": list(AT),
                "to_m": [[0, 0, M_PER_DEG[1], 0, 0, 0], [0, M_PER_DEG[0], 0, 0, 0, 0]],
                "to_deg": [[0, 0, 1 / M_PER_DEG[0], 0, 0, 0], [0, 1 / M_PER_DEG[1], 0, 0, 0, 0]]},
        "cell_m": 100, "outline": box(0, 0, 300, 100), "cells": cells, "closures": [],
        "pegs": [], "marks": [], "permits": [], "people": [], "plots": [], "probes": 3,
        "frame_m": 0.5, "check_in_min": 60, "declination_deg": 23.6, "gate": None,
        "bag_types": [{"type": "sack", "wet_kg": 88, "dry_kg": 6.8}], "label_from": 14,
        "held": [], "held_of": "p3-k7f2", **changes}


@pytest.fixture
def book():
    return PlainBook()


@pytest.fixture
def hand():
    return Hand()


@pytest.fixture
def zone():
    return ZoneInfo("Pacific/Auckland")


@pytest.fixture
def make_sheet():
    return lambda **changes: sheet_of(sheet_json_of(**changes))


@pytest.fixture
def make_plot():
    return plot


@pytest.fixture
def make_book():
    return PlainBook
