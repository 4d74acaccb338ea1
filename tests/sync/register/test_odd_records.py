"""Whatever sound records say, however odd, a register, its flags and its documents come out."""

import json
import math
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sync.intake.check import check_lines
from sync.register.build import Inputs, build
from sync.register.why import why_cell
from sync.report.document import register_document, register_json
from sync.settings import Tunables

ON = date(2026, 2, 20)
ODD_TIMES = ["0001-01-01T00:00:00.000Z", "1969-12-31T23:59:59.999Z", "9999-12-31T23:59:59.999Z"]
CELL = st.sampled_from(["A01", "B02", "C03", "ZZ99", "AAA01", "Q50"])
LABEL = st.sampled_from(["P1-001", "P1-002", "D-1", "ü §"])
PLOT = st.sampled_from(["A01-1", "A01-2", "B02-1", "C03-1", "nowhere", ""])
DAY = st.sampled_from(["0001-01-01", "2019-03-31", "2025-06-30", "2025-07-01", "2026-01-31",
                       "2028-02-29", "9999-12-31"])
KG = st.sampled_from([0, 0.001, 70, 1e6])
BIG = st.sampled_from([-(10**30), -(10**15), -1, 0, 1, 10**15, 10**30])
SEQ = st.integers(1, 14)


def when():
    begun = datetime(2025, 6, 1, tzinfo=UTC)
    usual = st.integers(0, 270 * 86_400).map(
        lambda s: (begun + timedelta(seconds=s)).strftime("%Y-%m-%dT%H:%M:%S.000Z"))
    return st.one_of(usual, usual, usual, usual, st.sampled_from(ODD_TIMES))


def places(mire):
    spots = [mire.where(150, 150), mire.where(100, 100), mire.where(299.9, 10), mire.where(900, 9),
             {"lat": -90, "lon": 180, "age_s": 0, "acc_m": 0}, {"lat": 0, "lon": 0, "age_s": 1e9},
             {**mire.where(50, 50), "acc_m": 500, "lag_s": -5e6},
             {**mire.where(50, 50), "acc_m": None, "lag_s": 1e300}]
    return st.one_of(st.none(), st.sampled_from(spots))


def optional(**fields):
    return st.fixed_dictionaries({}, optional=fields)


def kinds():
    finished = st.lists(st.sampled_from(["A01", "B02", "ZZ99"]), unique=True, max_size=2)
    half = st.sampled_from([0.5, 1, 7, 40])
    layer = st.sampled_from([0, 1, 80, 800])
    return {
        "outing": (optional(cell=CELL, finished=finished, role=st.just("picker")), {
            "state": st.sampled_from(["start", "pause", "resume", "end"])}),
        "bag": (optional(pile=LABEL, type=st.sampled_from(["sack", "x", ""]), cell=CELL,
                         **{"for": st.sampled_from(["RK", "A"])},
                         covers=st.sampled_from([["p1-aaaa", 3, 9], ["p1-aaaa", 1, 2**50]])),
                {"bags": half}),
        "void": (optional(), {"of": SEQ.map(lambda n: f"p1-aaaa:{n}")}),
        "quadrat": (optional(plot=PLOT, cell=CELL, clip=LABEL, again=st.booleans(),
                             water_table_mm=st.sampled_from([-1500, 500]),
                             scrub_pct=st.sampled_from([0, 100])), {
            "when": st.sampled_from(["survey", "before_pick", "after_pick"]),
            "side_m": st.just(0.5), "cover_pct": st.sampled_from([0, 4.9, 5, 60, 100]),
            "depth_mm": st.lists(st.sampled_from([0, 1, 39, 100, 800]), max_size=4)}),
        "skip": (optional(), {"plot": PLOT, "why": st.sampled_from(["pool", "unsafe"])}),
        "clip": (optional(cut=st.sampled_from(["plug", "frame"]), from_mm=layer, to_mm=layer,
                          area_m2=st.sampled_from([0.0001, 0.25, 4]), dried=st.just("oven"),
                          dry_g=st.sampled_from([5e-324, 75.0, 1e300])), {"clip": LABEL}),
        "mark": (optional(), {"what": st.just("pile"), "name": st.sampled_from(["", "P1-001"])}),
        "work": (optional(cells=st.lists(CELL, min_size=1, max_size=2),
                          outline=st.sampled_from([{}, {"type": "Polygon", "coordinates": [[]]}]),
                          hold_days=st.sampled_from([0, 30, 10**30])), {
            "what": st.sampled_from(["sprayed", "driven"])}),
        "batch": (optional(bags=half, dry_kg=KG, **{"from": st.lists(LABEL, max_size=2)}), {
            "batch": LABEL, "stage": st.sampled_from(["lifted", "dried"])}),
        "past_pick": (optional(to=DAY, share_pct=st.sampled_from([0, 5, 100]), dry_kg=KG), {
            "cell": CELL, "from": DAY}),
        "track": (optional(lag_s=st.sampled_from([0, 1e300, -1e300]),
                           acc_m=st.lists(st.integers(0, 255), min_size=2, max_size=2)), {
            "t0": when(), "dt_ms": st.tuples(st.just(0), BIG).map(list),
            "lat_e7": st.tuples(BIG, BIG).map(list), "lon_e7": st.tuples(BIG, BIG).map(list)}),
        "check_in": (optional(), {"state": st.just("fine")}),
        "notice": (optional(), {"permit": st.just("TM-1"), "what": st.just("start"),
                                "start": DAY}),
        "ruling": (optional(figures=st.just({"x": [None]})), {
            "flag": st.sampled_from(["", "early_pick:B02:2025"]), "says": st.just("agreed"),
            "seen": st.just("0" * 64)}),
    }


@st.composite
def records(draw, mire):
    table = kinds()
    kind = draw(st.sampled_from(sorted(table)))
    may, must = table[kind]
    device = draw(st.sampled_from(["p1-aaaa", "shed", "form-x"]))
    record = {"device": device, "seq": draw(SEQ), "kind": kind, "at": draw(when()),
              "person": "MT", "where": draw(places(mire)), **draw(may)}
    for field, values in must.items():
        record[field] = draw(values)
    if draw(st.integers(0, 5)) == 0:
        record["instead_of"] = f"p1-aaaa:{draw(SEQ)}"
    return record


def everything_of(mire, lines, on):
    checked = check_lines(lines, file="f", sealed=True)
    made = Inputs(mire.mire(), Tunables(), checked.sound, checked.aside, "0.1.0")
    found = build(made, on=on)
    text = register_json(register_document(found, tuple(mire.flags(found).values())))
    for cell in found.cells:
        assert why_cell(found, cell)
    return found, json.loads(text, parse_constant=lambda word: pytest.fail(word))


@settings(max_examples=100, deadline=None)
@given(data=st.data(), on=st.sampled_from([ON, ON, ON, date(2025, 6, 30), date(2040, 1, 1)]))
def test_no_odd_record_stops_a_register(mire, data, on):
    made = data.draw(st.lists(records(mire), max_size=14))
    found, document = everything_of(mire, [json.dumps(one).encode() for one in made], on)
    for row in document["cells"]:
        assert row["state"] in {"closed", "resting", "unsurveyed", "taken", "ready"}
        assert row["left_kg"] is None or 0 <= row["left_kg"] <= row["may_take_kg"]
    for one in found.crop.cells.values():
        if one.walked is not None:
            stand = one.walked.stand
            assert 0.0 <= one.walked.pickable_kg <= stand.crop_kg * (1 + 1e-9) + 1e-9
            assert all(map(math.isfinite, (stand.crop_kg, stand.mark_kg, stand.crop_var)))


@pytest.mark.parametrize("on", [date.min, date(1, 1, 2), date(1969, 1, 1), date(9999, 12, 30),
                                date.max])
def test_any_day_of_the_calendar_may_be_asked_about(mire, on):
    book = mire.Book()
    book.quadrat(date(2025, 6, 20), "B02")
    book.bags(date(2025, 11, 10), "B02", 200)
    book.finished(date(2025, 11, 10), "B02")
    everything_of(mire, [json.dumps(one).encode() for one in book.kept], on)
