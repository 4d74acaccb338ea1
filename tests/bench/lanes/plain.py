"""The same shares of picking time and swept ground as a user of geopandas would work them out."""

from collections.abc import Sequence

import geopandas
import numpy as np
import pandas
import shapely

from lanes.seen import START, Day
from sync.geometry.ground import Ground
from sync.intake.fixes import ms_of
from sync.settings import Tunables


def frames_of(days: Sequence[Day], ground: Ground) -> tuple[pandas.DataFrame, pandas.DataFrame,
                                                           geopandas.GeoDataFrame]:
    """Give fixes, presses and cells as a user would have read them from files; not timed."""
    fixes = pandas.concat([
        pandas.DataFrame({"outing": number, "at_ms": day.track.at_ms, "lat": day.track.lat,
                          "lon": day.track.lon, "acc_m": day.track.acc_m})
        for number, day in enumerate(days)], ignore_index=True)
    presses = pandas.DataFrame([
        {"outing": number, "bag": i, "press_ms": round(ms_of(bag.at))}
        for number, day in enumerate(days) for i, bag in enumerate(day.bags)])
    cells = geopandas.GeoDataFrame(
        {"cell": list(ground.cells)}, geometry=[one.shape for one in ground.cells.values()],
        crs=2193)
    return fixes, presses, cells


def shares_by_join(
    fixes: pandas.DataFrame, presses: pandas.DataFrame, cells: geopandas.GeoDataFrame,
    tunables: Tunables,
) -> pandas.Series:
    """Give the part of picking time by outing, bag and cell."""
    good = fixes[fixes.acc_m <= tunables.worst_fix_m]
    points = geopandas.GeoDataFrame(
        good, geometry=geopandas.points_from_xy(good.lon, good.lat), crs=4326).to_crs(2193)
    points = pandas.merge_asof(
        points.sort_values("at_ms"), presses.sort_values("press_ms"), left_on="at_ms",
        right_on="press_ms", by="outing", direction="forward", allow_exact_matches=False)
    points = points[points.press_ms.notna() & (points.at_ms >= round(ms_of(START)))]
    points = points.sort_values(["outing", "at_ms"])
    after = points.groupby("outing").at_ms.shift(-1)
    e, n = points.geometry.x, points.geometry.y
    there = points.groupby("outing").shift(-1).geometry
    moved = np.hypot(there.x - e, there.y - n)
    last = ~points.duplicated(["outing", "bag"], keep="last")
    picks = last | (moved < tunables.walking_m_s * (after - points.at_ms) / 1000.0)
    until = after.where(~last, points.press_ms)
    points["seconds"] = ((until - points.at_ms) / 1000.0).clip(upper=tunables.longest_fix_s)
    points = points[picks]
    whole = points.groupby(["outing", "bag"]).seconds.sum()
    on_cells = geopandas.sjoin(points, cells, predicate="within")
    found = on_cells.groupby(["outing", "bag", "cell"]).seconds.sum()
    return found / whole


def swept_by_overlay(
    fixes: pandas.DataFrame, cells: geopandas.GeoDataFrame, tunables: Tunables
) -> pandas.Series:
    """Give the ground that hands went over by outing and cell, as a user would: buffers of passes,
    joined by outing, laid over the cells. [m²]."""
    good = fixes[fixes.acc_m <= tunables.worst_fix_m]
    points = geopandas.GeoDataFrame(
        good, geometry=geopandas.points_from_xy(good.lon, good.lat), crs=4326).to_crs(2193)
    points["e"], points["n"] = points.geometry.x, points.geometry.y
    before = points.groupby("outing").shift(1)
    apart_s = (points.at_ms - before.at_ms) / 1000.0
    walked = np.hypot(points.e - before.e, points.n - before.n) >= tunables.walking_m_s * apart_s
    points["passing"] = (before.e.isna() | walked | (apart_s > tunables.longest_fix_s)).cumsum()
    passes = points.groupby(["outing", "passing"]).filter(lambda each: len(each) > 1)
    lines = passes.groupby(["outing", "passing"])[["e", "n"]].apply(
        lambda each: shapely.LineString(each.to_numpy()))
    swaths = geopandas.GeoDataFrame(
        lines.reset_index(name="geometry"), geometry="geometry", crs=2193)
    swaths["geometry"] = swaths.buffer(tunables.reach_m, cap_style="flat")
    swaths = swaths.dissolve("outing").reset_index()[["outing", "geometry"]]
    on_cells = geopandas.overlay(swaths, cells, how="intersection")
    return on_cells.assign(m2=on_cells.area).groupby(["outing", "cell"]).m2.sum()
