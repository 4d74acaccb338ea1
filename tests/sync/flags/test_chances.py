"""What is judged of bags from where nobody may pick: the bound before the sum hides no flag."""

from datetime import UTC, date, datetime

import pytest

from sync.block import BagType, Block, Grid, Rule
from sync.flags.chances import There, bags_there
from sync.geometry.placed import Placed
from sync.intake.seen import BagSeen
from sync.picks.sources import weights_of
from sync.settings import tunables_from

DAY = date(2025, 11, 10)
HERE = There(lambda one: one.chances.get("B02", 0.0), lambda one: one.part_in("B02"))
BLOCK = Block("testblok", "Test Mire", "UTC", 2193, Grid(0.0, 0.0, 100.0), (7, 1),
              (Rule(None, 60, 5.0, 40.0, 30.0),), (BagType("sack", 90.0, 7.0),))


def judged(chance, **said):
    bag = BagSeen("p1-aaaa:1", datetime(2025, 11, 10, 9, tzinfo=UTC), DAY, "p1-aaaa", 1, "MT",
                  True, 4.0, None, None, None, None, None, None)
    one = Placed(bag, 0.0, 0.0, 3.0, {"B02": chance}, {}, 0.0, "fix")
    tunables = tunables_from(said)
    weights = weights_of((), [2025], BLOCK.bags, on=DAY, season_start=(7, 1), tunables=tunables)
    return bags_there([one], HERE, weights, BLOCK, tunables)


@pytest.mark.parametrize("levels", [(0.9, 0.02, 0.95), (0.5, 0.7, 0.02)])
def test_2026_11_28_levels_in_another_order_hide_no_flag(levels):
    # The bound was held against the level of "perhaps" alone.
    perhaps, likely, sure = levels
    found = judged(0.05, flag_perhaps=perhaps, flag_likely=likely, flag_sure=sure)
    assert found is not None
    assert found.probability == pytest.approx(0.05)


def test_2026_11_28_an_owner_may_ask_for_no_bag_at_all():
    assert judged(0.7, early_bags=0).probability == 1.0


def test_a_chance_under_every_level_is_no_flag():
    assert judged(0.05) is None
