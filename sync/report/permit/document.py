"""A return as a document: rounded, in a fixed order of keys, the same bytes each time.

Rule 1: every figure of a return's text and page stands here; they work nothing out.
Rule 2: `figures_sum` leaves out what only says when and by which program it was made.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from fieldapp.record import canonical, stamp
from sync.block import Permit
from sync.flags.flag import Flag
from sync.picks.made import Kg
from sync.register.bearing import bearing_sum
from sync.register.build import Register
from sync.register.closed_in import ClosedIn
from sync.register.permit_return import PermitReturn, PickedCell
from sync.report.block_rows import permit_row
from sync.report.permit.flagged import flags_under, rest_broken
from sync.report.rounding import BAGS, HA, KG, PCT, range_of, rounded
from sync.settings import RANGE_LEVEL
from sync.survey.design.estimate import Estimate
from sync.survey.ranges import t_quantile
from sync.survey.share_kept import ShareKept

_FORM = 1
#: What is no figure of the year: it says when, by what and from what the return was made.
_MADE = frozenset({"permit_return", "made_of", "on", "known_by", "filed"})


def return_document(
    register: Register, found: PermitReturn, flags: Sequence[Flag]
) -> dict[str, Any]:
    """Write a return.

    Parameters
    ----------
    register : Register
        Of the return's day.
    found : PermitReturn
        The return.
    flags : sequence of Flag
        Of that register.

    Returns
    -------
    dict
        The document; no key is left out.
    """
    row, permit = permit_row(found.permit), found.permit
    mine = flags_under(register, permit, flags)
    return {
        "permit_return": _FORM,
        "range_level": RANGE_LEVEL,
        "made_of": {**register.sums, "block": bearing_sum(register)},
        "on": found.on.isoformat(),
        "known_by": None if register.known_by is None else stamp(register.known_by),
        "block": register.block.name,
        "permit": _asked(permit.permit),
        "year": {**row["year"], "over": found.is_over},
        "taken": row["taken"],
        "taken_dry_kg": _kg(permit.taken_kg),
        "bags": rounded(permit.taken_kg.bags, BAGS),
        "left": row["left"],
        "picked": _picked(found),
        "rest": rest_broken(mine),
        "kept": _kept(found.kept),
        "notice": row["notice"],
        "closures": [_closure(one) for one in found.closed],
        "flags": [flag for _, flag in mine],
        "filed": row["filed"],
    }


def returns_json(documents: Iterable[Mapping[str, Any]]) -> str:
    """Write returns as text: UTF-8, indented, with an end of line at its end."""
    return json.dumps({"returns": list(documents)}, ensure_ascii=False, indent=1,
                      allow_nan=False) + "\n"


def figures_sum(document: Mapping[str, Any]) -> str:
    """Give the SHA-256 (hex) of a return's figures, apart from when and by what it was made."""
    kept = {key: value for key, value in document.items() if key not in _MADE}
    kept["flags"] = [{key: flag[key] for key in ("name", "how_sure", "figures")}
                     for flag in document["flags"]]
    return hashlib.sha256(canonical(kept)).hexdigest()


def _asked(permit: Permit) -> dict[str, Any]:
    return {
        "permit": permit.name,
        "parcels": list(permit.parcels),
        "from": _day(permit.since),
        "until": _day(permit.until),
        "cap": permit.cap,
        "cap_unit": permit.cap_unit,
        "keep_pct": permit.keep_pct,
        "living_layer_mm": permit.living_layer_mm,
        "max_share_pct": permit.max_share_pct,
        "max_kg_ha": permit.max_kg_ha,
        "notice_days": permit.notice_days,
    }


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def _kg(kg: Kg) -> dict[str, Any]:
    return range_of(kg.kg, kg.variance, KG, quantile=t_quantile(kg.df))


def _picked(found: PermitReturn) -> dict[str, Any]:
    picks, elsewhere = found.picks, found.elsewhere
    cells = {one.cell: one.open_m2 for one in picks}
    return {
        "cells": len(cells),
        "cells_ha": rounded(sum(cells.values()) / 1e4, HA),
        "area_ha": rounded(sum(one.area_m2 for one in picks) / 1e4, HA),
        "of_cells": len(found.permit.cells),
        "elsewhere": {"kg": rounded(elsewhere.kg, KG), "bags": rounded(elsewhere.bags, BAGS)},
        "picks": [_pick(one) for one in picks],
    }


def _pick(one: PickedCell) -> dict[str, Any]:
    return {
        "cell": one.cell,
        "ground_class": one.ground_class,
        "from": one.first.isoformat(),
        "to": one.last.isoformat(),
        "bags": rounded(one.kg.bags, BAGS),
        "kg": _kg(one.kg),
        "open_ha": rounded(one.open_m2 / 1e4, HA),
        "area_ha": rounded(one.area_m2 / 1e4, HA),
        "area_by": one.area_by,
        "rest_ends": _day(one.rest_ends),
        "typed_in": one.typed,
    }


def _kept(kept: ShareKept) -> dict[str, Any]:
    return {
        "pickable_pct": _pct(kept.pickable),
        "standing_pct": _pct(kept.standing),
        "cells": list(kept.cells),
        "of_cells": kept.picked_cells,
        "quadrats": {"before": kept.before, "after": kept.after},
        "why": kept.why,
    }


def _pct(found: Estimate | None) -> dict[str, Any] | None:
    """Write a share with its 90 % interval by t, not under 0."""
    if found is None:
        return None
    low, high = found.interval(RANGE_LEVEL)
    return {"value": rounded(100.0 * found.value, PCT),
            "low": rounded(100.0 * max(0.0, low), PCT), "high": rounded(100.0 * high, PCT)}


def _closure(one: ClosedIn) -> dict[str, Any]:
    return {
        "why": one.why,
        "from": _day(one.since),
        "until": _day(one.until),
        "spraying": one.hold,
        "cells": list(one.cells),
        "ha": rounded(one.area_m2 / 1e4, HA),
    }
