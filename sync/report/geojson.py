"""The register's cells as a map: GeoJSON (RFC 7946), with the figures as properties."""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from sync.geometry.coords import geojson_of
from sync.register.build import Register
from sync.report.csv_rows import flat


def register_geojson(document: Mapping[str, Any], register: Register) -> str:
    """Write the cells as a FeatureCollection.

    Parameters
    ----------
    document : mapping
        The register's document.
    register : Register
        For the shapes of its cells.

    Returns
    -------
    str
        Polygons in degrees, WGS 84, seven decimals, outer rings counter-clockwise; the block's
        name and the day stand beside the features.

    References
    ----------
    .. [1] RFC 7946, *The GeoJSON Format*, 2016, sections 3.1.6, 5 and 6.1.
    """
    features = [_feature(row, register) for row in document["cells"]]
    collection = {
        "type": "FeatureCollection",
        "name": document["block"]["name"],
        "on": document["on"],
        **_bbox(features),
        "features": features,
    }
    return json.dumps(collection, ensure_ascii=False, allow_nan=False) + "\n"


def _feature(row: Mapping[str, Any], register: Register) -> dict[str, Any]:
    ground = register.crop.ground
    geometry = geojson_of(ground.projection, ground.cells[row["cell"]].shape)
    if len(geometry["coordinates"]) == 1:
        geometry = {"type": "Polygon", "coordinates": geometry["coordinates"][0]}
    return {
        "type": "Feature", "id": row["cell"], "geometry": geometry, "properties": flat(row),
    }


def _bbox(features: Sequence[Mapping[str, Any]]) -> dict[str, list[float]]:
    """Give west, south, east and north of all features; nothing where there is none. [deg]."""
    places = [place for one in features for place in _places(one["geometry"]["coordinates"])]
    if not places:
        return {}
    lons, lats = zip(*places, strict=True)
    return {"bbox": [min(lons), min(lats), max(lons), max(lats)]}


def _places(coordinates: Sequence[Any]) -> list[tuple[float, float]]:
    if isinstance(coordinates[0], float):
        return [(coordinates[0], coordinates[1])]
    return [place for one in coordinates for place in _places(one)]
