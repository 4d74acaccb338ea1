"""The same shares of picking time as a user of geopandas would work them out."""

from collections.abc import Sequence

import geopandas
import numpy as np
import pandas

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
