"""A draw of plots for a handheld receiver: a waypoint a plot, a route a walk.

Rule 1: waypoints are named and told as those of `fallow waypoints`, so that none comes back as a
mark.
"""

from collections.abc import Iterator

from sync.geometry.gpx import Route, Waypoint, write_gpx
from sync.geometry.receiver import GIVEN_OUT
from sync.plan.plots.draw import Draw, DrawnPlot, Walk
from sync.report.plots_file import place_deg


def draw_gpx(draw: Draw, *, creator: str) -> str:
    """Write a draw as GPX 1.1.

    Parameters
    ----------
    draw : Draw
        Whole.
    creator : str
        The program's name and version.

    Returns
    -------
    str
        Plots in walking order, spares last; each walk goes around closed ground.
    """
    points = [_waypoint(draw, plot) for plot in draw.plots]
    return write_gpx((), points, creator=creator, routes=[
        Route(f"surveyor {walk.surveyor}, day {walk.day}", tuple(_points(draw, walk)))
        for walk in draw.walks
    ])


def _waypoint(draw: Draw, plot: DrawnPlot) -> Waypoint:
    told = [f"plot in {plot.cell}", "for the survey"]
    if plot.spare:
        told.append("a spare: read it only if another of its cell cannot be seen")
    if plot.pegged:
        told.append("pegged: look for the peg")
    lat, lon = place_deg(draw, plot.at)
    return Waypoint(f"plot {plot.name}", lat, lon, note=GIVEN_OUT + "; ".join(told))


def _points(draw: Draw, walk: Walk) -> Iterator[tuple[str | None, float, float]]:
    if draw.gate is not None:
        yield ("gate", *place_deg(draw, draw.gate))
    for i, bends in enumerate(walk.bends):
        for bend in bends:
            yield (None, *place_deg(draw, bend))
        if i < len(walk.plots):
            yield (f"plot {walk.plots[i].name}", *place_deg(draw, walk.plots[i].at))
    if draw.gate is not None:
        yield ("gate", *place_deg(draw, draw.gate))
