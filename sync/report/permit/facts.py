"""What a return says in sentences: taken, area, rest, share kept, notice, closures, flags, filing.

Rule 1: figures are the document's; each says its unit, and a range where there is one.
Rule 2: what was not measured is called so; nothing is softened.
"""

from collections import Counter
from collections.abc import Mapping
from typing import Any

from sync.flags.permit import UNITS
from sync.report.map_words import day_words
from sync.report.page_flags import flag_title
from sync.report.table import Shown

_BY = {"tracks": "by hands' tracks", "weight": "by weight against what was pickable",
       "typed": "as typed in", "whole": "whole cells, for nothing tells"}
#: A return's figure: its name, and what is said of it, a sentence or more each.
Said = tuple[str, tuple[str, ...]]
_COLUMNS = ("cell", "class", "from", "to", "bags", "kg dry", "90 % range", "ha", "by", "rest ends")
_LEFT = frozenset({0, 1, 2, 3, 8, 9})
_NONE = "–"


def facts(document: Mapping[str, Any]) -> list[Said]:
    """Say a return's figures.

    Parameters
    ----------
    document : mapping
        The return.

    Returns
    -------
    list of (str, tuple of str)
        Unescaped, in English; closures and flags are several.
    """
    closed = tuple(_closure(one) for one in document["closures"])
    flags = tuple(_flag(one) for one in document["flags"])
    return [("Taken", (_taken(document),)), ("Area picked", (_area(document["picked"]),)),
            ("Rest kept", (_rest(document["rest"]),)), ("Share kept", (_kept(document),)),
            ("Notice", (_notice(document["notice"]),)),
            ("Closed", closed or ("Nothing was closed.",)), ("Flags", flags or ("None.",)),
            ("Filed", (_filed(document),))]


def _unit(document: Mapping[str, Any]) -> str:
    return UNITS[document["permit"]["cap_unit"] or "kg_dry"]


def _range(found: Mapping[str, Any], unit: str) -> str:
    if found["low"] == found["high"]:
        return f"{found['value']:,} {unit}"
    return f"{found['value']:,} {unit} (90 % {found['low']:,} to {found['high']:,})"


def _bags(bags: float, one: str = "", many: str = "") -> str:
    return f"{bags:,} bag{one}" if bags == 1 else f"{bags:,} bags{many}"


def _loose(elsewhere: Mapping[str, Any]) -> str:
    kg = f" ({elsewhere['kg']:,} kg) besides"
    return (f"{_bags(elsewhere['bags'], f'{kg} is', f'{kg} are')} of no pick: touches, strays, or "
            "of no cell.")


def _taken(document: Mapping[str, Any]) -> str:
    cap, unit = document["permit"]["cap"], _unit(document)
    dry = f"{_range(document['taken_dry_kg'], UNITS['kg_dry'])} in {_bags(document['bags'])}"
    if document["taken"] is None:
        return (f"Cannot be told in {unit}: the records do not tell it (weigh bags wet, or give "
                f"the litres of a bag). By count and dry weights {dry}.")
    said = _range(document["taken"], unit)
    if cap == 0:
        said += ", where the cap is 0"
    elif cap:
        said += (f", {100 * document['taken']['value'] / cap:.0f} % of the cap of {cap:,g}; "
                 f"{document['left']:,} left")
    if document["permit"]["cap_unit"] in {"kg_dry", None}:
        return f"{said}. {_bags(document['bags'], ' was', ' were')} tallied."
    return f"{said}. That is {dry}."


def _area(picked: Mapping[str, Any]) -> str:
    elsewhere = picked["elsewhere"]
    if not picked["picks"]:
        return "Nothing was picked." if not elsewhere["bags"] else (
            f"No pick of a cell is known, so no area. {_loose(elsewhere)}")
    ways = Counter(one["area_by"] for one in picked["picks"])
    how = ", ".join(f"{count} {_BY[way]}" for way, count in ways.most_common())
    said = (f"{picked['area_ha']:.2f} ha, in {picked['cells']} of {picked['of_cells']} cells with "
            f"{picked['cells_ha']:.2f} ha of open ground; picks: {how}.")
    if elsewhere["bags"]:
        said += f" {_loose(elsewhere)}"
    return said


def _rest(rest: Mapping[str, Any]) -> str:
    if not rest["early_picks"]:
        return "No cell is known to have been picked before its rest ended."
    many = "" if rest["early_picks"] == 1 else "s"
    ground = ("how much ground, nothing tells" if rest["ha"] is None else
              f"{rest['ha']:.2f} ha of ground picked twice")
    return (f"{rest['early_picks']} cell{many} picked before the rest ended: {rest['kg']:,} kg "
            f"shed-dry; {ground} (see the flags).")


def _kept(document: Mapping[str, Any]) -> str:
    kept, least = document["kept"], document["permit"]["keep_pct"]
    if kept["standing_pct"] is None:
        return f"Not measured: {kept['why']}."
    of = (f"{len(kept['cells'])} of {kept['of_cells']} picked cells, "
          f"{kept['quadrats']['before']} quadrats before and {kept['quadrats']['after']} after; "
          f"{kept['why']}")
    said = [_range(kept["standing_pct"], "% of all moss")]
    if kept["pickable_pct"] is not None:
        asked = "" if least is None else (
            f", where {least:g} % must stay: {_verdict(kept['pickable_pct'], least)}")
        said.insert(0, _range(kept["pickable_pct"], "% of the pickable moss") + asked)
    return (f"As measured after picking, still standing: {'; '.join(said)}. "
            f"{of[:1].upper()}{of[1:]}.")


def _verdict(found: Mapping[str, Any], least: float) -> str:
    if found["low"] >= least:
        return "kept"
    return "not kept" if found["high"] < least else "the quadrats do not settle it"


def _notice(notice: Mapping[str, Any] | None) -> str:
    if notice is None:
        return "None was needed or given."
    needed = notice["needed"]
    if notice["given"] is None:
        return f"None is on record; {needed} clear working days are asked for."
    said = (f"Given {day_words(notice['given'])} for a start on {day_words(notice['start'])}: "
            f"{notice['clear_days']} clear working days")
    if needed is None:
        return f"{said}."
    late = notice["clear_days"] < needed
    return f"{said} of {needed} needed, {'too late' if late else 'in time'}."


def _closure(one: Mapping[str, Any]) -> str:
    since, until = (None if one[key] is None else day_words(one[key]) for key in ("from", "until"))
    if since is None:
        span = "always" if until is None else f"until {until}"
    else:
        span = f"from {since} on" if until is None else f"{since} to {until}"
    return f"{one['why']}: {span}; {one['ha']:.2f} ha in {', '.join(one['cells'])}."


def _flag(one: Mapping[str, Any]) -> str:
    ruling = one["ruling"]
    ruled = "the owner has not ruled" if ruling is None or not ruling["stands"] else (
        f"ruled {ruling['says'].replace('_', ' ')}")
    return f"{flag_title(one['rule'])} ({one['how_sure']}; {ruled}): {one['why']}."


def _filed(document: Mapping[str, Any]) -> str:
    filed = document["filed"]
    if filed is None:
        return "No return of this year is on record as filed."
    unit = _unit(document)
    known = "" if filed["known_by"] is None else f", by what was known at {filed['known_by']}"
    said = f"{day_words(filed['at'])} as {filed['record']}{known}"
    if filed["same"]:
        return f"{said}. What was taken is what was filed, {_figure(filed['taken'])} {unit}."
    return (f"{said}, with {_figure(filed['taken'])} {unit} taken; by what is known now it is "
            f"{_figure(filed['taken_now'])} {unit}: no longer the same.")


def _figure(value: float | None) -> str:
    return _NONE if value is None else f"{value:,}"


def pick_table(document: Mapping[str, Any]) -> Shown:
    """Give the picks as a table; * after the kg marks one typed in, whose kg are not told."""
    rows = tuple(_row(one) for one in document["picked"]["picks"])
    return Shown(_COLUMNS, rows, _LEFT)


def _row(one: Mapping[str, Any]) -> tuple[str, ...]:
    kg = one["kg"]
    return (
        one["cell"], one["ground_class"], one["from"], one["to"], f"{one['bags']:,}",
        f"{kg['value']:,}{'*' if one['typed_in'] else ''}", f"{kg['low']:,}–{kg['high']:,}",
        f"{one['area_ha']:.2f}", one["area_by"], one["rest_ends"] or _NONE)
