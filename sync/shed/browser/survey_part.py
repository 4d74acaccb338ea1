"""The plan's section on the survey: the plots drawn last, what was read of them, who walks what.

Rule 1: it shows what was kept with the draw; what it was expected to buy was told on its day.
"""

from collections.abc import Mapping
from typing import Any

from sync.plan.plots.known import walked_since
from sync.shed.browser.page import Page
from sync.shed.browser.watched_tables import Fold, Part, Section, Table
from sync.shed.rebuild import View
from sync.shed.words import ShedWords, message

_WALKS = (message("walk"), message("plots in order"), message("hours"))


def survey_section(page: Page, view: View) -> Section:
    """Tell the last draw of plots.

    Parameters
    ----------
    page : Page
        For its words.
    view : View
        With the draws of the block folder.

    Returns
    -------
    Section
        Day, seed, how many are read, what the survey is expected to buy, and the walks.
    """
    words = page.words
    on = view.register.on.isoformat()
    drawn = [one for one in view.draws if one.get("how") == "drawn" and _day(one) <= on
             and not one.get("replaced_on")]
    if not drawn:
        return Section("survey", words("Survey"), words("No plots were drawn yet."), [], [])
    last = drawn[-1]
    return Section("survey", words("Survey"), _lead(words, view, last), [],
                   [Part((), _walks(words, last) if last.get("walks") else None, ())])


def _day(draw: Mapping[str, Any]) -> str:
    return str(draw.get("drawn_on") or draw.get("made_on") or "9999")


def _lead(words: ShedWords, view: View, last: Mapping[str, Any]) -> str:
    asked = [str(p["plot"]) for p in (*last["plots"], *last.get("walked_again", ()))
             if not p.get("spare")]
    spare = sum(bool(p.get("spare")) for p in last["plots"])
    seen = walked_since(view.register, asked, _day(last), until=view.register.on)
    said = [words("{n} plots and {spare} spares drawn on {day}, seed {seed}; {read} of the plots "
                  "are read or skipped.", n=len(asked), spare=spare, day=words.day(_day(last)),
                  seed=str(last.get("seed", "–")), read=len(seen))]
    expected = last.get("expected")
    if isinstance(expected, Mapping):
        said += _expected(words, expected)
    return " ".join(said)


def _expected(words: ShedWords, expected: Mapping[str, Any]) -> list[str]:
    said = []
    now, then = expected.get("block_cv_now"), expected.get("block_cv_then")
    if now is not None and then is not None:
        said.append(words("What is unknown of the block's crop is expected to go from ± {now} to "
                          "± {then} %.", now=words.number(100 * now, 1),
                          then=words.number(100 * then, 1)))
    said.append(words("It is expected to open {n} cells with {kg} kg that may be taken.",
                      n=expected.get("opened", 0), kg=words.number(expected.get("opened_kg"))))
    return said


def _walks(words: ShedWords, last: Mapping[str, Any]) -> Table:
    rows = [{"name": words("surveyor {n}, day {day}", n=one["surveyor"], day=one["day"]),
             "href": "", "boxes": [(" ".join(one["plots"]), False),
                                   (words.number(one["hours"], 1), True)]}
            for one in last["walks"]]
    return Table("walks", words("Walks"), [words(one) for one in _WALKS], frozenset({0, 1}),
                 Fold(rows, "", "", ""))
