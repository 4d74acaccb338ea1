"""The maps (GeoJSON) and the draws of plots of a block folder.

Rule 1: shapes are read here and judged by `sync.geometry`.
"""

import dataclasses
import json
from collections import Counter
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from fieldapp.record import CELL
from sync.block import Feature, Plot
from sync.disk.tables import Table
from sync.errors import DiskError, SettingsError

OUTLINE_FILE = "outline.geojson"
CLASSES_FILE = "classes.geojson"
CLOSURES_FILE = "closures.geojson"
PLOTS_FILE = "plots.json"


def read_json(path: Path) -> Any:
    """Read a JSON file of the folder.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    JSON value
        What it holds.

    Raises
    ------
    SettingsError
        If it is no JSON.
    DiskError
        If it cannot be read.
    """
    try:
        return json.loads(path.read_text(encoding="utf-8"))
    except ValueError as wrong:
        raise SettingsError([f"{path.name}: not readable as JSON: {wrong}"]) from wrong
    except OSError as wrong:
        raise DiskError(f"{path}: {wrong.strerror}") from wrong


def features_in(path: Path, mistakes: list[str], *, required: bool = False) -> tuple[Feature, ...]:
    """Read the features of a map; none without the file, unless it is required."""
    if not path.is_file():
        if required:
            mistakes.append(f"{path.name} is missing: the block needs an outline")
        return ()
    value = read_json(path)
    features = value.get("features") if isinstance(value, Mapping) else None
    if not isinstance(features, list):
        mistakes.append(f"{path.name}: write a GeoJSON FeatureCollection")
        return ()
    return tuple(
        read for i, one in enumerate(features, 1)
        if (read := _feature(one, f"{path.name} feature {i}", mistakes)) is not None
    )


def _feature(value: Any, title: str, mistakes: list[str]) -> Feature | None:
    geometry = value.get("geometry") if isinstance(value, Mapping) else None
    if not isinstance(geometry, Mapping) or geometry.get("type") not in {
        "Polygon", "MultiPolygon"
    }:
        mistakes.append(f"{title}: its geometry must be a Polygon or MultiPolygon")
        return None
    properties = value.get("properties") or {}
    if not isinstance(properties, Mapping):
        mistakes.append(f"{title} properties = {properties!r}: write an object")
        return None
    table = Table({k: v for k, v in properties.items() if v is not None}, title, mistakes)
    return Feature(geometry, properties, *table.span())


def plots_in(folder: Path, mistakes: list[str]) -> tuple[Plot, ...]:
    """Read the plots of all draws; none without the file."""
    path = folder / PLOTS_FILE
    if not path.is_file():
        return ()
    value = read_json(path)
    try:
        plots = tuple(_plot(draw, p) for draw in value["draws"] for p in draw["plots"])
        asked = {str(p["plot"]): _drawn_on(draw) for draw in value["draws"]
                 if not draw.get("replaced_on") for p in draw.get("walked_again", ())}
    except (KeyError, TypeError, ValueError, AttributeError) as wrong:
        mistakes.append(f"{PLOTS_FILE}: {type(wrong).__name__} {wrong}; each plot needs plot,"
                        " cell, lat, lon, spare, again")
        return ()
    times = Counter(p.name for p in plots)
    mistakes.extend(
        f"{PLOTS_FILE} plot {name!r}: ids are never reused" for name, n in times.items() if n > 1
    )
    mistakes.extend(
        f"{PLOTS_FILE} walked_again {name!r}: no plot of that name"
        for name in asked if name not in times
    )
    return tuple(
        dataclasses.replace(p, asked_on=asked[p.name], spare=False, withdrawn=False)
        if p.name in asked else p for p in plots
    )


def _plot(draw: Mapping[str, Any], p: Mapping[str, Any]) -> Plot:
    return Plot(
        str(p["plot"]), _cell(p["cell"]), _degrees(p["lat"], 90), _degrees(p["lon"], 180),
        draw["how"] == "drawn", str(draw["when"]), bool(p["spare"]), bool(p["again"]),
        bool(p.get("pegged", False)), _drawn_on(draw), bool(draw.get("replaced_on")),
    )


def _drawn_on(draw: Mapping[str, Any]) -> date | None:
    said = draw.get("drawn_on")
    return None if said is None else date.fromisoformat(said)


def _degrees(value: Any, most: int) -> float:
    if not isinstance(value, int | float) or not -most <= value <= most:
        raise ValueError(f"{value!r} degrees")
    return float(value)


def _cell(value: object) -> str:
    if not isinstance(value, str) or not CELL.fullmatch(value):
        raise ValueError(f"cell {value!r}")
    return value
