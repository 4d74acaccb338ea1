"""A lot is odd by the other lots: with itself among them it never would be."""

from datetime import date

import numpy as np
import pytest

from sync.picks.kilos import Lot, kg_per_bag, sds_off
from sync.settings import Tunables

ON = date(2026, 3, 1)


def lots(mire, *weighed, bag_type=None):
    """Tally bags on piles and dry them, a lot a pile: (bags, kg) each."""
    book = mire.Book()
    for i, (bags, kg) in enumerate(weighed):
        day, pile = date(2025, 11, 1 + i), f"P1-{i:03d}"
        fields = {} if bag_type is None else {"type": bag_type}
        book.bags(day, "B02", bags, pile=pile, **fields)
        book.note("batch", date(2025, 12, 1), "O", batch=f"D-{i}", stage="dried", bags=bags,
                  dry_kg=kg, **{"from": [pile]})
    return book


def odd(mire, book, **tunables):
    return mire.flags(mire.register(book, ON, **tunables), "odd_bag_weight")


ALIKE = [(40, 272.0), (38, 262.0), (42, 283.0), (41, 277.0)]


def test_a_light_lot_is_flagged_with_what_the_others_weigh(mire):
    (flag,) = odd(mire, lots(mire, *ALIKE, (41, 120.0))).values()
    assert flag.name == "odd_bag_weight:D-4:2025"
    assert (flag.how_sure, flag.probability) == ("sure", None)
    assert flag.figures == {"kg_per_bag": pytest.approx(120 / 41),
                            "usual_kg": pytest.approx((272 + 262 + 283 + 277) / 161)}
    assert flag.records == tuple(r for r in flag.records if r.startswith("shed:"))
    assert "4 other lots of sack bags" in flag.why
    assert "2.9 kg a bag" in flag.why


def test_lots_alike_are_not_odd_and_one_alone_cannot_be(mire):
    assert odd(mire, lots(mire, *ALIKE)) == {}
    assert odd(mire, lots(mire, (41, 12.0))) == {}


def test_a_lot_of_another_bag_type_says_nothing_of_sacks(mire):
    from sync.block import BagType
    block = mire.mire(bags=(BagType("sack", 90.0, 7.0), BagType("bale", 200.0, 15.0)))
    book = lots(mire, *ALIKE)
    book.bags(date(2025, 11, 20), "B02", 20, pile="P9-001", type="bale")
    book.note("batch", date(2025, 12, 1), "O", batch="D-9", stage="dried", bags=20, dry_kg=300.0,
              **{"from": ["P9-001"]})
    assert mire.flags(mire.register(book, ON, block), "odd_bag_weight") == {}


def test_nothing_is_odd_before_its_first_bag(mire):
    book = lots(mire, *ALIKE, (41, 120.0))
    assert mire.flags(mire.register(book, date(2025, 11, 4)), "odd_bag_weight") == {}


def test_one_lot_in_six_half_as_heavy_again_is_found_by_the_others_and_not_with_itself():
    """6,000 made-up seasons of six lots of 40 bags, lots 6 % apart, one half as heavy again."""
    rng = np.random.default_rng(417)
    tunables = Tunables()
    found = {"others": 0, "with itself": 0}
    for _ in range(6000):
        kg = 40 * 6.8 * rng.normal(1.0, 0.06, 6)
        kg[0] *= 1.5
        made = [Lot(40.0, float(one)) for one in kg]
        for how, among in (("others", made[1:]), ("with itself", made)):
            kappa = kg_per_bag(among, owners_kg=7.0, tunables=tunables)
            found[how] += abs(sds_off(made[0], kappa)) > tunables.odd_lot_sds
    assert found["others"] / 6000 > 0.90
    assert found["with itself"] / 6000 < 0.02
