"""A draw of plots as plots.json holds it."""

from collections.abc import Mapping
from typing import Any

from sync.plan.plots.draw import Draw, DrawnPlot

#: 1e-7 degree is 1 cm. A chance to six places.
_DIGITS, _CHANCE_DIGITS, _CV_DIGITS = 7, 6, 4


def draw_document(draw: Draw) -> Mapping[str, Any]:
    """Write a draw as plots.json holds it, but for its number.

    Parameters
    ----------
    draw : Draw
        Whole.

    Returns
    -------
    mapping
        New plots under `plots`, those that keep their id under `walked_again`, each with the
        chance that its cell had; and what the survey was expected to buy, and the walks.
    """
    return {
        "drawn_on": draw.register.on.isoformat(), "seed": draw.seed, "how": "drawn",
        "when": "survey", "surveyors": draw.surveyors, "days": draw.days,
        "plots": [_new(draw, plot) for plot in draw.plots if not plot.old],
        "walked_again": [{"plot": plot.name, "cell": plot.cell, "chance": _chance(plot)}
                         for plot in draw.plots if plot.old],
        "expected": _expected(draw),
        "walks": [{"surveyor": walk.surveyor, "day": walk.day,
                   "plots": [plot.name for plot in walk.plots],
                   "hours": round(walk.minutes / 60.0, 1)} for walk in draw.walks],
    }


def place_deg(draw: Draw, at: tuple[float, float]) -> tuple[float, float]:
    """Give latitude and longitude of a place of a draw, to the centimetre. [deg]."""
    lat, lon = draw.register.grounds.projection.to_deg(*at)
    return round(float(lat), _DIGITS), round(float(lon), _DIGITS)


def _expected(draw: Draw) -> dict[str, Any]:
    """Write what the survey is expected to buy: errors of the crop, cells opened and their kg."""
    worth = draw.worth
    return {"block_cv_now": _share(worth.block_cv_now),
            "block_cv_then": _share(worth.block_cv_then), "opened": len(worth.opened),
            "opened_kg": round(sum(one.kg for one in worth.opened))}


def _share(value: float | None) -> float | None:
    return None if value is None else round(value, _CV_DIGITS)


def _chance(plot: DrawnPlot) -> float:
    return round(plot.chance, _CHANCE_DIGITS)


def _new(draw: Draw, plot: DrawnPlot) -> dict[str, Any]:
    lat, lon = place_deg(draw, plot.at)
    return {
        "plot": plot.name, "cell": plot.cell, "lat": lat, "lon": lon,
        "spare": plot.spare, "again": False, "pegged": False, "chance": _chance(plot),
    }
