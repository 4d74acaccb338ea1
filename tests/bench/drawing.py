"""Does the draw keep what it says? Balance on a patchy block, chances, and what it promised.

Run: python tests/bench/drawing.py [seed]. Prints ratios and shares, asserts nothing.

1. Made-up patchy blocks, 144 cells of 100 m, 30 of them drawn, two places in each. Moss changes in
   waves of one length in all directions, with patches of 40 m on top. The class mean by cells of
   the spread sample and places in equal parts, against as many by plain chance: ratio of the
   variances, plain over spread. With 30 of 144 cells a draw is a cell in every 220 m, so waves
   much shorter than twice that are seen by neither way.
2. How often each cell was drawn, against its chance: the largest difference in standard errors of
   sampling, and how many of the cells lie within two.
"""

import sys

import numpy as np
import shapely

from sync.geometry.scatter import equal_parts, place_by_chance
from sync.survey.draw.chances import chances_by_size
from sync.survey.draw.pivotal import spread_sample

SIDE, CELLS, QUADRATS, DRAWS, BLOCKS = 12, 30, 2, 300, 4
CHANCE_DRAWS = 20_000
WAVES_M = (1000.0, 700.0, 400.0, 200.0)


def field(rng, wave_m):
    """Give moss [L/m²] at places: SD 20 by waves of one length, 10 by patches of 40 m."""
    def waves(count, length_m, sd):
        way = rng.random(count) * 2 * np.pi
        return (2 * np.pi / length_m * np.cos(way), 2 * np.pi / length_m * np.sin(way),
                rng.random(count) * 2 * np.pi, sd * np.sqrt(2 / count))

    parts = (waves(12, wave_m, 20.0), waves(40, 80.0, 10.0))

    def at(places):
        e, n = np.array(places).T
        found = 50.0 + sum(
            height * np.sin(np.outer(e, a) + np.outer(n, b) + phase).sum(axis=1)
            for a, b, phase, height in parts)
        return np.maximum(0.0, found)

    return at


def middles():
    return [(100.0 * i + 50, 100.0 * j + 50) for i in range(SIDE) for j in range(SIDE)]


def mean_spread(at, cells, parts, uniform):
    chance = [CELLS / len(cells)] * len(cells)
    return at([place_by_chance(part, uniform)
               for i in spread_sample(chance, cells, uniform) for part in parts[i]]).mean()


def mean_plain(at, cells, rng):
    middle = np.array(cells)[np.repeat(rng.choice(len(cells), CELLS, replace=False), QUADRATS)]
    return at(middle + 100 * rng.random(middle.shape) - 50).mean()


def balance(seed):
    rng = np.random.default_rng(seed)
    cells = middles()
    parts = [equal_parts(shapely.box(e - 50, n - 50, e + 50, n + 50), QUADRATS)
             for e, n in cells]
    for wave_m in WAVES_M:
        ratios = []
        for _ in range(BLOCKS):
            at = field(rng, wave_m)
            spread = [mean_spread(at, cells, parts, rng.random) for _ in range(DRAWS)]
            plain = [mean_plain(at, cells, rng) for _ in range(DRAWS)]
            ratios.append(np.var(plain, ddof=1) / np.var(spread, ddof=1))
        print(f"balance, waves of {wave_m:.0f} m (patches of {wave_m / 2:.0f}): plain chance has "
              f"{np.exp(np.mean(np.log(ratios))):.2f} times the variance of the spread draw "
              f"({', '.join(f'{r:.2f}' for r in ratios)})", flush=True)


def chances(seed):
    rng = np.random.default_rng(seed + 1)
    cells = middles()
    wanted = np.array(chances_by_size(rng.lognormal(0, 0.8, len(cells)).tolist(), CELLS))
    often = np.zeros(len(cells))
    for _ in range(CHANCE_DRAWS):
        often[spread_sample(wanted.tolist(), cells, rng.random)] += 1
    open_ = wanted < 1.0
    error = np.sqrt(wanted * (1 - wanted) / CHANCE_DRAWS)
    off = np.abs(often / CHANCE_DRAWS - wanted)[open_] / error[open_]
    assert np.all(often[~open_] == CHANCE_DRAWS)
    print(f"chances: of {open_.sum()} cells with chances {wanted.min():.3f} to "
          f"{wanted[open_].max():.3f}, {CHANCE_DRAWS} draws: {100 * np.mean(off < 2):.0f} % "
          f"within 2 standard errors (95 expected), the farthest {off.max():.1f} off")


if __name__ == "__main__":
    SEED = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    balance(SEED)
    chances(SEED)
