"""Other maps of the block than that of its states: scrub, water, work, and the crop come back.

Rule 1: levels are the register's, changes those of plots read in two surveys; nothing is worked
out here but the class that a cell falls in.
Rule 2: class limits are those of the flags where there are such, else round figures of our own
choice; a limit belongs to the class above it.
Rule 3: each figure is printed in its cell too, with a flag's sign where that very flag is open.
"""

import dataclasses
import itertools
import statistics
from collections import defaultdict
from collections.abc import Callable, Mapping
from typing import Any, Literal

from sync.block import season_of
from sync.plan.condition import CellCondition
from sync.plan.watched import Watched
from sync.register.build import Register
from sync.report.map_paint import Tone

LayerName = Literal["scrub", "scrub_change", "water", "water_change", "work", "rested"]
#: Of each layer, its title.
LAYERS: Mapping[LayerName, str] = {
    "scrub": "Scrub, in % of the ground",
    "scrub_change": "Change of scrub, in points",
    "water": "Water table, in mm; negative is below the moss surface",
    "water_change": "Change of the water table against the block's median, in mm",
    "work": "Work done",
    "rested": "Standing crop, in % of the cell's rested crop",
}
_LEVEL_OF = ("By all plots of each cell's latest survey; plots read in two surveys alone, which "
             "tell the change, may read otherwise.")
_CHANGE_OF = ("From the first reading to the latest, at plots read in two surveys alone: the "
              "level is of all plots.")
_CAPTION = {
    "scrub": _LEVEL_OF, "scrub_change": _CHANGE_OF, "water": _LEVEL_OF,
    "water_change": _CHANGE_OF,
    "work": "The latest work noted in each cell.",
    "rested": "By today's figures; a cell that was never picked has no crop to come back to.",
}
#: What stands in a cell for a kind of work.
WORK_WORDS: Mapping[str, str] = {
    "scrub_cut": "scrub", "rolled": "rolled", "slash_stacked": "slash", "reseeded": "seeded",
    "drain_blocked": "drain", "sprayed": "sprayed", "driven": "driven"}
_RULES: Mapping[LayerName, frozenset[str]] = {
    "scrub": frozenset({"scrub_spreading"}), "scrub_change": frozenset({"scrub_spreading"}),
    "water": frozenset({"drying"}), "water_change": frozenset({"drying"}),
    "work": frozenset(), "rested": frozenset({"not_regrown"})}
_UNREAD = Tone("unread", "not read", {}, "#FFFFFF", "hatch")
_UNREAD_TWICE = Tone("unread", "not read twice", {}, "#FFFFFF", "hatch")
_NO_WORK = Tone("unread", "no work noted", {}, "#FFFFFF", "none")
_NO_CROP = Tone("unread", "never picked, or not known", {}, "#FFFFFF", "hatch")
_BELOW, _BETWEEN, _ABOVE = "under {high}", "{low} to under {high}", "{low} or more"
_DOWN, _LEVEL, _UP = ("fell by {by} or more", "changed by less than {by}", "rose by {by} or more")
_NOW, _BEFORE = "in this season", "in an earlier season"
_NONE = "–"
#: All that is passed to `say`, for whoever keeps a catalogue.
LAYER_WORDS = (
    *LAYERS.values(), *dict.fromkeys(_CAPTION.values()), *WORK_WORDS.values(), _UNREAD.words,
    _UNREAD_TWICE.words, _NO_WORK.words, _NO_CROP.words, _BELOW, _BETWEEN, _ABOVE, _DOWN, _LEVEL,
    _UP, _NOW, _BEFORE)


@dataclasses.dataclass(frozen=True)
class Layer:
    """A map of its own.

    Attributes
    ----------
    name : str
        Of `LAYERS`.
    title, caption : str
        What it shows, and by which readings.
    tones : tuple of Tone
        Its classes, in the order of the key.
    cells : mapping of str to (Tone, str)
        Class of each cell, and what is printed in it.
    rules : frozenset of str
        Flags whose sign it shows.
    """

    name: LayerName
    title: str
    caption: str
    tones: tuple[Tone, ...]
    cells: Mapping[str, tuple[Tone, str]]
    rules: frozenset[str]


def layer_of(
    name: LayerName, register: Register, document: Mapping[str, Any], watched: Watched
) -> Layer:
    """Make a layer.

    Parameters
    ----------
    name : str
        Of `LAYERS`.
    register : Register
        Of the day asked about.
    document : mapping
        Its document.
    watched : Watched
        What is watched on it.

    Returns
    -------
    Layer
        With every cell of the document.

    Raises
    ------
    KeyError
        If there is no such layer.
    """
    tones, found = _MAKERS[name](register, document, watched)
    none = tones[-1]
    said = {row["cell"]: found.get(row["cell"], (none, "" if none is _NO_WORK else _NONE))
            for row in document["cells"]}
    return Layer(name, LAYERS[name], _CAPTION[name], tones, said, _RULES[name])


_Made = tuple[tuple[Tone, ...], dict[str, tuple[Tone, str]]]


def _classed(value: float, limits: tuple[float, ...], tones: tuple[Tone, ...]) -> Tone:
    """Give the class of a value, the limits rising; as many classes and one more."""
    return tones[sum(value >= limit for limit in limits)]


def _steps(limits: tuple[float, ...], unit: str, looks: tuple[Any, ...]) -> tuple[Tone, ...]:
    """Name the classes between rising limits, and give each its fill, mark and pitch."""
    said = [f"{limit:g}{unit}".replace("-", "−") for limit in limits]
    names = [(_BELOW, {"high": said[0]}),
             *((_BETWEEN, {"low": low, "high": high})
               for low, high in itertools.pairwise(said)),
             (_ABOVE, {"low": said[-1]})]
    return tuple(Tone(f"{place}", words, values, *look)
                 for place, ((words, values), look) in enumerate(zip(names, looks, strict=True)))


def _scrub(register: Register, document: Mapping[str, Any], _: Watched) -> _Made:
    limits = (register.tunables.scrub_points, 15.0, 30.0)
    tones = _steps(limits, " %", (
        ("#FFFFFF", "none"), ("#F3E7C6", "plus", 20.0), ("#E0C68C", "plus", 13.0),
        ("#CBA557", "plus", 8.0)))
    return (*tones, _UNREAD), {
        row["cell"]: (_classed(row["scrub_pct"], limits, tones), f"{row['scrub_pct']:.0f} %")
        for row in document["cells"] if row["scrub_pct"] is not None}


def _water(register: Register, document: Mapping[str, Any], _: Watched) -> _Made:
    limits = (register.tunables.water_dry_mm, -150.0, -50.0)
    tones = _steps(limits, " mm", (
        ("#F3D9A0", "none"), ("#FBF6DD", "dash", 20.0), ("#D6ECFA", "dash", 13.0),
        ("#9BD0F2", "dash", 8.0)))
    return (*tones, _UNREAD), {
        row["cell"]: (_classed(row["water_table_mm"], limits, tones),
                      _signless(row["water_table_mm"]))
        for row in document["cells"] if row["water_table_mm"] is not None}


def _signless(mm: float) -> str:
    return f"{mm:.0f}".replace("-", "−")


def _changes(
    watched: Watched, by: float, unit: str, of: Callable[[CellCondition], float | None],
    fills: tuple[str, str], places: int,
) -> _Made:
    """Class the cells by a change: down, level, up."""
    values = {"by": f"{by:g} {unit}"}
    tones = (Tone("down", _DOWN, values, fills[0], "down", 13.0),
             Tone("level", _LEVEL, values, "#FFFFFF", "none"),
             Tone("up", _UP, values, fills[1], "up", 13.0))
    found = {}
    for one in watched.condition.cells:
        change = of(one)
        if change is None:
            continue
        tone = tones[0] if change <= -by else tones[2] if change >= by else tones[1]
        said = f"{change:+.{places}f}"
        found[one.cell] = (tone, (said if float(said) else said[1:]).replace("-", "−"))
    return (*tones, _UNREAD_TWICE), found


def _scrub_change(register: Register, _: Mapping[str, Any], watched: Watched) -> _Made:
    def change(one: CellCondition) -> float | None:
        return statistics.fmean(pair.change for pair in one.scrub) if one.scrub else None

    return _changes(watched, register.tunables.scrub_points, "points", change,
                    ("#D3EFC9", "#E0C68C"), 1)


def _water_change(register: Register, _: Mapping[str, Any], watched: Watched) -> _Made:
    def change(one: CellCondition) -> float | None:
        return None if one.water is None else one.water.relative_mm

    return _changes(watched, register.tunables.water_fall_mm, "mm", change,
                    ("#F3D9A0", "#9BD0F2"), 0)


def _work(register: Register, _: Mapping[str, Any], watched: Watched) -> _Made:
    start = register.block.season_start
    now = season_of(register.on, start)
    tones = (Tone("now", _NOW, {}, "#E3D4F2", "diamond", 10.0),
             Tone("before", _BEFORE, {}, "#F4EEFA", "diamond", 18.0))
    kinds: dict[str, dict[str, int]] = defaultdict(dict)
    for one in watched.condition.works:
        for cell in one.work.cells:
            kinds[cell].pop(one.work.seen.what, None)
            kinds[cell][one.work.seen.what] = season_of(one.work.seen.day, start)
    return (*tones, _NO_WORK), {
        cell: (tones[0] if max(done.values()) == now else tones[1],
               WORK_WORDS.get(list(done)[-1], list(done)[-1]))
        for cell, done in kinds.items()}


def _rested(_: Register, document: Mapping[str, Any], __: Watched) -> _Made:
    limits = (50.0, 75.0, 95.0)
    tones = _steps(limits, " %", (
        ("#E9B9A6", "square", 8.0), ("#F3D6C9", "square", 13.0), ("#FAEDE6", "square", 20.0),
        ("#FFFFFF", "none")))
    found = {}
    for row in document["cells"]:
        crop, rested = row["standing_crop_kg"], row["rested_crop_kg"]
        if crop is not None and rested and row["last_picked"] is not None:
            share = 100.0 * crop["value"] / rested
            found[row["cell"]] = (_classed(share, limits, tones), f"{share:.0f} %")
    return (*tones, _NO_CROP), found


_MAKERS: Mapping[LayerName, Callable[[Register, Mapping[str, Any], Watched], _Made]] = {
    "scrub": _scrub, "scrub_change": _scrub_change, "water": _water,
    "water_change": _water_change, "work": _work, "rested": _rested}
