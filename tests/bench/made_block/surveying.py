"""What surveyors write down: cover and depths of quadrats, second readings, clips.

Rule 1: a quadrat is lognormal about its cell; it is written in whole per cent and millimetres.
"""

import dataclasses
from datetime import date

import numpy as np

from made_block.book import CELLS, CLASSES, Book, class_of, corner, latlon
from made_block.world import CLIP_CV, THETA, World, by_depth, depth_of, lognormal

PLUG_M2, PLUG_MM = 0.0625, 60
#: Spread of three probes about a quadrat's mean depth.
_PROBE_CV = 0.15


@dataclasses.dataclass
class Survey:
    """A surveyor's walk: what was written, for the simpler ways to use too.

    Attributes
    ----------
    drawn : dict of str to list of float
        Index of each drawn quadrat as written, by cell. [L/m²]
    clips : list of (str, float, float)
        Class, density [kg/m³] and the written index [L/m²] of each clip's quadrat.
    """

    world: World
    book: Book
    rng: np.random.Generator
    drawn: dict[str, list[float]] = dataclasses.field(default_factory=dict)
    clips: list[tuple[str, float, float]] = dataclasses.field(default_factory=list)
    cut: list[tuple[str, str, float, float, float]] = dataclasses.field(default_factory=list)

    def read(self, cell: str, day: date, person: str, *, of_rested: float = 1.0,
             best_of: int = 0) -> tuple[int, list[int]]:
        """Read the next drawn plot of a cell; with `best_of`, a patch chosen by eye instead."""
        case = self.world.case
        volumes = lognormal(self.rng, self.world.index[cell], case.within_cv, max(1, best_of))
        volume = of_rested * float(np.max(volumes))
        depth = float(depth_of(cell, volume))
        cover = min(100, max(0, round(100.0 * volume / depth * self.world.reads[person])))
        probes = [max(1, min(800, round(d)))
                  for d in lognormal(self.rng, depth, _PROBE_CV, 3)]
        mine = self.drawn.setdefault(cell, [])
        place: dict[str, object] = {"plot": f"{cell}-{len(mine) + 1}"}
        if best_of:
            x, y = corner(cell)
            lat, lon = latlon(x + 50, y + 50)
            place = {"plot": None, "where": {"lat": lat, "lon": lon, "acc_m": 4, "age_s": 1}}
        else:
            mine.append(cover * float(np.mean(probes)) / 100.0)
            self.cut.append((cell, str(place["plot"]), depth, mine[-1], volume))
        fields = {"when": "survey", "side_m": 0.5, "cover_pct": cover, "depth_mm": probes}
        self.book.note("quadrat", day, person, **{**place, **fields})
        return cover, probes

    def read_again(self, person: str, other: str, count: int, day: date) -> None:
        """Read quadrats of one surveyor again: `other` counts dots, or is another surveyor."""
        mine = [r for r in self.book.kept if r["kind"] == "quadrat" and r["person"] == person
                and r["plot"] is not None and r["cover_pct"] >= 10 and not r.get("again")]
        skill = self.world.reads.get(other, 1.0)
        for i in self.rng.permutation(len(mine))[:count]:
            first = mine[i]
            true = first["cover_pct"] / self.world.reads[person]
            seen = true * skill * max(0.2, float(self.rng.normal(1.0, 0.20)))
            self.book.note("quadrat", day, other, **{
                k: first[k] for k in ("plot", "when", "side_m", "depth_mm")},
                again=True, cover_pct=min(100, max(1, round(seen))))

    def clip(self, count: int, day: date) -> None:
        """Cut plugs where the surveyor likes: in full cover, the classes in turn."""
        left = {name: [one for one in self.cut if class_of(one[0]) == name and one[3] > 0.0]
                for name in CLASSES}
        for i in range(count):
            name = CLASSES[i % len(CLASSES)]
            deep = [one for one in left[name] if one[2] >= PLUG_MM] or left[name]
            if not deep:
                continue
            one = deep[int(self.rng.integers(len(deep)))]
            left[name].remove(one)
            self._plug(one, f"X-{i:03d}", day)

    def _plug(self, one: tuple[str, str, float, float, float], label: str, day: date) -> None:
        cell, plot, depth, written, _ = one
        noise = CLIP_CV * (1.0 - THETA) ** 0.5
        density = self.world.density[cell] * float(by_depth(self.world.case, cell, depth))
        density = min(79.0, max(1.1, density * float(lognormal(self.rng, 1.0, noise))))
        grams = density * PLUG_MM * PLUG_M2
        row = next(r for r in self.book.kept if r["kind"] == "quadrat" and r["plot"] == plot)
        row["clip"] = label
        self.book.note("clip", day, "O", clip=label, cut="plug", area_m2=PLUG_M2, from_mm=0,
                       to_mm=PLUG_MM, dry_g=round(grams, 2), dried="shed")
        self.clips.append((class_of(cell), grams / PLUG_MM / PLUG_M2, written))


def surveyed_cells(world: World, rng: np.random.Generator) -> list[str]:
    """Choose the cells to survey: each class its share, drawn, or the better ones."""
    chosen: list[str] = []
    for name in CLASSES:
        cells = [cell for cell in CELLS if class_of(cell) == name]
        count = max(2, round(world.case.share * len(cells)))
        order = rng.permutation(len(cells)).tolist()
        if world.case.chosen == "better":
            better = sorted(range(len(cells)), key=lambda i: -world.index[cells[i]])
            order = rng.permutation(better[: max(count, len(cells) // 2)]).tolist()
        chosen += [cells[i] for i in order[:count]]
    return chosen


def first_survey(world: World, rng: np.random.Generator, day: date) -> Survey:
    """Survey the block as its case says: quadrats, second readings, clips."""
    case = world.case
    walk = Survey(world, Book("shed"), rng)
    for number, cell in enumerate(surveyed_cells(world, rng)):
        person = ("SL", "SW")[number % 2]
        by_eye = case.chosen == "eye" and number % 4 in {1, 2}
        both = case.chosen == "eye" and number % 8 == 0
        for _ in range(int(rng.integers(case.quadrats[0], case.quadrats[1] + 1))):
            walk.read(cell, day, person, best_of=3 if by_eye else 0)
            if both:
                walk.read(cell, day, person, best_of=3)
    for person, other in (("SL", "SW"), ("SW", "SL")):
        walk.read_again(person, "DC", case.dots, day)
        walk.read_again(person, other, case.again, day)
    walk.clip(case.clips, day)
    return walk
