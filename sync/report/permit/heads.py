"""What stands above and below a return's figures: whose it is, what is asked, what made it."""

from collections.abc import Iterator, Mapping
from typing import Any

from sync.flags.permit import UNITS
from sync.report.map_words import day_words


def title(document: Mapping[str, Any]) -> str:
    """Say under which permit and of which year a return is."""
    year = document["year"]
    return (f"Return under {document['permit']['permit']}, "
            f"{day_words(year['from'])} to {day_words(year['to'])}")


def head_lines(document: Mapping[str, Any]) -> list[str]:
    """Say of which day it is, and what is asked under the permit."""
    year = document["year"]
    until = ("The whole permit year." if year["over"] else
             f"The permit year is not over: this is until {day_words(document['on'])}.")
    known = ("" if document["known_by"] is None else
             f" By what was known at {document['known_by']}.")
    return [f"{until}{known} Ranges hold the truth nine times in ten.",
            f"Asked under the permit: {'; '.join(_asked(document['permit'])) or 'nothing'}."]


def _asked(permit: Mapping[str, Any]) -> Iterator[str]:
    if permit["parcels"]:
        yield f"parcels {', '.join(permit['parcels'])}"
    if permit["cap"] is not None:
        yield f"at most {permit['cap']:,g} {UNITS[permit['cap_unit']]} a permit year"
    if permit["max_share_pct"] is not None:
        yield f"at most {permit['max_share_pct']:g} % of a cell's pickable moss a pick"
    if permit["max_kg_ha"] is not None:
        yield f"at most {permit['max_kg_ha']:,g} kg/ha a pick"
    if permit["keep_pct"] is not None:
        yield f"{permit['keep_pct']:g} % of the pickable moss stays"
    if permit["living_layer_mm"] is not None:
        yield f"{permit['living_layer_mm']:g} mm of living strand stay"
    if permit["notice_days"]:
        yield f"notice {permit['notice_days']} clear working days before the start"


def made_line(document: Mapping[str, Any]) -> str:
    """Say what a return was made of."""
    sums = document["made_of"]
    return (f"Made of block {sums['block'][:12]}, settings {sums['settings'][:12]}, records "
            f"{sums['records'][:12]}, program {sums['program']}: the same four give, of the same "
            "day, the same return.")
