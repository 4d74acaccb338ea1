"""The register's cells as a map: GeoJSON (RFC 7946), with the figures as properties."""

import json
from collections.abc import Mapping
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
        Polygons in degrees, WGS 84, seven decimals, outer rings counter-clockwise.
    """
    ground = register.crop.ground
    features = [
        {
            "type": "Feature",
            "id": row["cell"],
            "geometry": geojson_of(ground.projection, ground.cells[row["cell"]].shape),
            "properties": flat(row),
        }
        for row in document["cells"]
    ]
    collection = {
        "type": "FeatureCollection",
        "name": document["block"]["name"],
        "on": document["on"],
        "features": features,
    }
    return json.dumps(collection, ensure_ascii=False, allow_nan=False) + "\n"
