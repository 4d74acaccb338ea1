"""The merge against a plain, slow model of what counts, and against every order of arrival."""

import json
from datetime import UTC, datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from fieldapp.record import canonical, instant, stamp
from sync.intake.check import check_lines
from sync.intake.merge import merge

ZONE = "Pacific/Auckland"
T0 = datetime(2026, 1, 20, 18, 0, tzinfo=UTC)
DEVICES = ("p1-a2b3", "p3-k7f2", "form-tally7", "shed")
MOST = 7
OWN_FIELDS = {"bag": {"bags": 1}, "mark": {"what": "peg", "name": "1"}, "dream": {"bags": 99}}


@st.composite
def targets(draw, device, seq):
    other = draw(st.sampled_from(DEVICES)) if device == "shed" else device
    highest = seq - 1 if other == device else MOST
    return f"{other}:{draw(st.integers(1, highest))}" if highest >= 1 else None


@st.composite
def records(draw, *, sound=True):
    device = draw(st.sampled_from(DEVICES))
    seq = draw(st.integers(1, MOST))
    kind = draw(st.sampled_from(["bag", "bag", "bag", "mark", "void", "void", "dream"]))
    target = draw(targets(device, seq)) if kind == "void" or draw(st.booleans()) else None
    if kind == "void" and target is None:
        kind = "bag"
    record = {
        "device": device, "seq": seq, "kind": kind, "person": draw(st.sampled_from(["MT", "SW"])),
        "at": stamp(T0 + timedelta(hours=draw(st.integers(0, 40)))), "where": None,
        **OWN_FIELDS.get(kind, {}),
    }
    if kind == "void":
        record["of"] = target
        if draw(st.integers(0, 4)) == 0:
            record["instead_of"] = draw(targets(device, seq))
    elif target is not None:
        record["instead_of"] = target
    if kind == "bag" and device in ("shed", "form-tally7") and draw(st.integers(0, 4)) == 0:
        first = draw(st.integers(1, MOST))
        record["covers"] = ["p3-k7f2", first, draw(st.integers(first, MOST))]
    if not sound:
        record["press_ms"] = -1
    return record


#: A record, whether it came in a sealed file, and whether it is fit to be taken.
ARRIVALS = st.lists(
    st.one_of(st.tuples(records(), st.booleans()), st.tuples(records(), st.booleans()),
              st.tuples(records(sound=False), st.booleans())),
    max_size=16)


def checked(arrivals, *, file="f"):
    held, aside = [], []
    for record, sealed in arrivals:
        found = check_lines([json.dumps(record).encode()], file=file, sealed=sealed)
        held += found.sound
        aside += found.aside
    return held, aside


def merged(held, aside):
    return merge(held, aside, zone=ZONE, clock_off_s=120.0)


class Model:
    """What counts, as one would say it: slowly, and looking at everything each time."""

    def __init__(self, held, aside):
        by_name = {}
        for one in held:
            by_name.setdefault(one.name, []).append(one)
        self.sealed = {(one.name, one.total) for one in held if one.sealed}
        self.sound = {name: self.best(each).record for name, each in by_name.items()}
        lines = sorted((one for one in aside if one.name not in self.sound), key=lambda a: a.raw)
        self.broken = {}
        for one in lines:
            self.broken.setdefault(one.name, json.loads(one.raw))
        self.received = self.sound.keys() | self.broken.keys()

    def best(self, contents):
        sealed = [one for one in contents if (one.name, one.total) in self.sealed]
        return min(sealed or contents, key=lambda one: one.total)

    def said(self, name):
        return self.sound.get(name) or self.broken.get(name) or {}

    def stands_for(self, name):
        target = self.said(name).get("instead_of")
        mine, its = self.said(name).get("kind"), self.said(target).get("kind")
        return target if target and mine == its and mine != "dream" else None

    def first(self, name):
        target = self.stands_for(name)
        return name if target is None else self.first(target)

    @staticmethod
    def place(name):
        device, _, seq = name.partition(":")
        return (device == "shed", int(seq))

    def is_voided(self, name):
        return any(record["kind"] == "void" and record["of"] == name and self.stands(other)
                   for other, record in self.sound.items())

    def stands(self, name):
        if self.is_voided(name):
            return False
        later = [other for other in self.sound if self.first(other) == self.first(name)
                 and self.place(other) > self.place(name)]
        return all(self.is_voided(other) for other in later)

    def paper_is_void(self, record):
        if not record.get("covers"):
            return False
        device, low, high = record["covers"]
        return any(f"{device}:{seq}" in self.received for seq in range(low, high + 1))

    def counted(self):
        found = {}
        for name, record in self.sound.items():
            if record["kind"] in ("void", "dream") or not self.stands(name):
                continue
            if not self.paper_is_void(record):
                first = self.said(self.first(name))
                found[name] = (self.first(name), instant(first["at"]), first["person"])
        return found


@settings(max_examples=400)
@given(ARRIVALS)
def test_the_merge_counts_what_the_plain_model_counts(arrivals):
    held, aside = checked(arrivals)
    result = merged(held, aside)
    found = {one.name: (f"{one.device}:{one.seq}", one.at, one.person) for one in result.counted}
    model = Model(held, aside)
    assert found == model.counted()
    received = {f"{device}:{seq}" for device, seqs in result.numbers.items() for seq in seqs}
    assert received == model.received


@settings(max_examples=150)
@given(ARRIVALS, st.randoms(use_true_random=False), st.integers(0, 8))
def test_order_and_repeats_change_nothing(arrivals, chance, repeats):
    held, aside = checked(arrivals)
    expected = merged(held, aside)
    if held:
        held += chance.choices(held, k=repeats)
    if aside:
        aside += chance.choices(aside, k=repeats)
    chance.shuffle(held)
    chance.shuffle(aside)
    assert merged(iter(held), iter(aside)) == expected


@settings(max_examples=150)
@given(ARRIVALS, st.data())
def test_how_the_records_were_split_over_files_changes_nothing(arrivals, data):
    expected = merged(*checked(arrivals))
    files = data.draw(st.lists(st.lists(st.sampled_from(arrivals)), max_size=5)
                      if arrivals else st.just([]))
    whole = data.draw(st.permutations(arrivals))
    cut = data.draw(st.integers(0, len(whole)))
    held, aside = [], []
    for number, lines in enumerate([whole[cut:], *files, whole[:cut]]):
        more_held, more_aside = checked(lines, file=f"file {number}")
        held += more_held
        aside += more_aside
    assert merged(held, aside) == expected


@given(ARRIVALS)
def test_one_thing_counts_at_most_once(arrivals):
    result = merged(*checked(arrivals))
    firsts = [(one.device, one.seq) for one in result.counted]
    assert len(firsts) == len(set(firsts))


@given(ARRIVALS, records())
def test_records_of_other_devices_than_shed_never_touch_each_other(arrivals, late):
    apart = [(record, sealed) for record, sealed in arrivals if record["device"] != "shed"]
    late = {**late, "device": "p9-z7z7", "seq": 1, "kind": "bag", "bags": 1}
    late = {key: value for key, value in late.items() if key not in ("instead_of", "of", "covers")}
    before = merged(*checked(apart)).counted
    after = merged(*checked([*apart, (late, True)])).counted
    assert [one for one in after if one.device != "p9-z7z7"] == list(before)
    assert canonical(late) in [canonical(one.record) for one in after]
