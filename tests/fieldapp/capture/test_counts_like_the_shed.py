"""Phone and shed agree on which of a phone's records count."""

from hypothesis import given
from hypothesis import strategies as st

from fieldapp.capture.counts import settle, standing
from fieldapp.record import name_of, sum_of
from sync.intake.check import Held
from sync.intake.merge import merge

STEPS = st.lists(st.tuples(st.sampled_from(["bag", "mark", "void", "mend"]), st.integers(1, 12)),
                 max_size=25)


def records_of(steps):
    records = []
    for seq, (what, back) in enumerate(steps, start=1):
        target = f"p3-k7f2:{max(1, seq - back)}"
        common = {"device": "p3-k7f2", "seq": seq, "person": "MT" if seq % 2 else "SW",
                  "at": f"2026-01-20T18:{seq:02}:00.000Z", "where": None}
        if what == "mark":
            records.append({**common, "kind": "mark", "what": "hazard", "name": f"hazard {seq}"})
        elif what == "void" and seq > 1:
            records.append({**common, "kind": "void", "of": target})
        else:
            mends = {"instead_of": target} if what == "mend" and seq > 1 else {}
            records.append({**common, "kind": "bag", "bags": 1, **mends})
    return records


@given(STEPS)
def test_what_counts_on_the_phone_counts_at_the_shed(steps):
    records = records_of(steps)
    held = [Held(name_of(one), sum_of(one), one, sealed=True) for one in records]
    shed = merge(held, zone="Pacific/Auckland", clock_off_s=120.0).counted
    phone = standing({one["seq"]: one for one in records}, settle(records), lambda _: True)
    assert [(one.seq, one.person, one.at) for one in sorted(phone, key=lambda one: one.seq)] == [
        (one.record["seq"], one.person, one.at)
        for one in sorted(shed, key=lambda one: one.record["seq"])]
