import tomllib
from pathlib import Path

import numpy as np
import pytest

from sync.block import BagType, Block, Feature, Grid, Rule
from sync.geometry.crs import projection
from sync.intake.fixes import ms_of
from sync.intake.seen import TrackSeen

PUBLISHED = Path(__file__).parents[2] / "published"


@pytest.fixture(scope="session")
def published():
    return tomllib.loads((PUBLISHED / "geometry.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def published_file():
    return lambda name: (PUBLISHED / name).read_bytes()


@pytest.fixture(scope="session")
def nztm():
    return projection(2193)


@pytest.fixture(scope="session")
def seen_track():
    """The arrays of a list of fixes."""
    def make(fixes):
        return TrackSeen(
            np.array([ms_of(fix.at) for fix in fixes], dtype=np.int64),
            *(np.array([np.nan if value is None else value for value in column], dtype=float)
              for column in ([fix.lat for fix in fixes], [fix.lon for fix in fixes],
                             [fix.acc_m for fix in fixes])))

    return make


@pytest.fixture(scope="session")
def grid():
    return Grid(1329400.0, 5249300.0, 100.0)


@pytest.fixture(scope="session")
def feature(nztm, grid):
    """A feature from rings in metres east and north of the grid's origin."""
    def make(*rings, since=None, until=None, **properties):
        coordinates = []
        for ring in rings:
            e, n = (np.array(ring, dtype=float) + np.array([grid.origin_e, grid.origin_n])).T
            lat, lon = nztm.to_deg(e, n)
            around = np.column_stack((lon, lat)).tolist()
            coordinates.append([*around, around[0]])
        return Feature({"type": "Polygon", "coordinates": coordinates}, properties, since, until)

    return make


@pytest.fixture(scope="session")
def box():
    return lambda west, south, east, north: [
        (west, south), (east, south), (east, north), (west, north)]


@pytest.fixture(scope="session")
def block_of(grid):
    def make(outline, **maps):
        return Block(
            block_id="t", name="Test Mire", zone="Pacific/Auckland", epsg=2193, grid=grid,
            season_start=(7, 1), rules=(Rule(None, 60, 5.0, 40.0, 30.0),),
            bags=(BagType("sack", 90.0, 7.0),), outline=tuple(outline), **maps)

    return make
