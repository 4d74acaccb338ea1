"""Bags and batches as the shed's records, taken through the real check, merge and events."""

import json
from datetime import date, timedelta

from sync.intake.check import check_lines
from sync.intake.events import events_of
from sync.intake.merge import merge
from sync.picks.ledger.balance import Balance, balance_of_seasons
from sync.picks.ledger.follow import ledger_of
from sync.settings import Tunables

START = (7, 1)
FIRST = date(2025, 9, 1)


def day_of(number):
    """Give the day of a number: 0 is the first of the season's picking."""
    return FIRST + timedelta(days=number)


class Notes:
    """What the shed noted, numbered."""

    def __init__(self):
        self.kept = []

    def note(self, kind, day, **fields):
        day = day if isinstance(day, date) else day_of(day)
        self.kept.append({
            "device": "shed", "seq": len(self.kept) + 1, "kind": kind, "person": "MT",
            "at": f"{day}T12:00:00.000Z", "where": None, **fields})
        return f"shed:{len(self.kept)}"

    def bags(self, day, pile, bags, **fields):
        return self.note("bag", day, pile=pile, bags=bags, **fields)

    def batch(self, day, label, stage, bags=None, source=None, **fields):
        made_of = {} if source is None else {"from": [source] if isinstance(source, str)
                                             else list(source)}
        return self.note("batch", day, batch=label, stage=stage, bags=bags, **made_of, **fields)

    def void(self, name):
        return self.note("void", 300, of=name)

    def mend(self, name, **fields):
        """Let another record stand in for one."""
        first = dict(self.kept[int(name.partition(":")[2]) - 1])
        kind = first.pop("kind")
        own = {key: value for key, value in first.items()
               if key not in {"device", "seq", "person", "at", "where"}}
        return self.note(kind, 300, **{**own, **fields}, instead_of=name)


def events(notes, *, order=None):
    lines = [json.dumps(one).encode() for one in order or notes.kept]
    checked = check_lines(lines, file="made-up", sealed=True)
    assert not checked.aside, checked.aside
    merged = merge(checked.sound, zone="UTC", clock_off_s=120.0)
    return events_of(merged.by_kind, season_start=START)


def ledger(notes, on=299, *, order=None):
    found = events(notes, order=order)
    on = on if isinstance(on, date) else day_of(on)
    return ledger_of(found.bags, found.batches, on=on, season_start=START,
                     same_pile_days=Tunables().same_pick_days)


def balance(notes, on=299, season=2025):
    return balance_of_seasons(ledger(notes, on)).get(season, Balance())
