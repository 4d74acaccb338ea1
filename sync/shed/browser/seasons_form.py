"""The form of the wishes for a plan of seasons: what stands in it, and what is read of it.

Rule 1: of what cannot be read every sentence is given, and no wish is guessed.
"""

import re
from collections.abc import Mapping

from sync.plan.wishes import MOST_SEASONS, Wishes
from sync.shed.words import ShedWords

_FIXED = re.compile(r"([A-Za-z]{1,2}[0-9]{2,3})\s*[=:]\s*([0-9]{4})")
_CELL = re.compile(r"[A-Za-z]{1,2}[0-9]{2,3}")
_APART = re.compile(r"[,;\s]+")


def fixed_words(wishes: Wishes) -> str:
    """Write what is fixed, such as C07=2029, D08=2030."""
    return ", ".join(f"{cell}={season}" for cell, season in wishes.fixed)


def typed_of(wishes: Wishes) -> dict[str, str]:
    """Give wishes as they stand in the form."""
    def number(value: float | None) -> str:
        return "" if value is None else f"{value:g}"

    return {
        "years": str(wishes.seasons), "even": number(wishes.even_pct),
        "at_least": number(wishes.at_least_t), "least_kg": number(wishes.least_kg),
        "fix": fixed_words(wishes), "never": ", ".join(wishes.never),
        "no_neighbours": "1" if wishes.no_neighbours else "",
        "with_unsurveyed": "1" if wishes.with_unsurveyed else "",
    }


def wishes_of(words: ShedWords, typed: Mapping[str, str]) -> tuple[Wishes | None, list[str]]:
    """Read the form; of what cannot be read every sentence."""
    wrong: list[str] = []

    def number(field: str, otherwise: float | None) -> float | None:
        if not typed[field]:
            return otherwise
        try:
            return float(typed[field].replace(",", "."))
        except ValueError:
            wrong.append(words("“{said}” is no number.", said=typed[field][:20]))
            return otherwise

    years = number("years", 5.0) or 0.0
    fixed = []
    for one in filter(None, _APART.split(typed["fix"])):
        match = _FIXED.fullmatch(one)
        if match is None:
            wrong.append(words("“{said}” is no cell and season: write C07=2029.", said=one[:20]))
        else:
            fixed.append((match[1].upper(), int(match[2])))
    never = [one.upper() for one in filter(None, _APART.split(typed["never"]))]
    wrong += [words("“{said}” is no cell.", said=one[:20])
              for one in never if not _CELL.fullmatch(one)]
    if not (1 <= years <= MOST_SEASONS and years == int(years)):
        wrong.append(words("Seasons: a whole number from 1 to {most}.", most=MOST_SEASONS))
    wishes = Wishes(
        0 if wrong else int(years), number("even", None), number("at_least", None),
        bool(typed["no_neighbours"]), tuple(fixed), tuple(never),
        bool(typed["with_unsurveyed"]), number("least_kg", Wishes.least_kg) or 0.0)
    return (None if wrong else wishes), wrong
