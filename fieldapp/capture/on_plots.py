"""What this phone has noted on the plots of a sheet, sorted by plot.

Rule 1: what the shed held when it asked for a plot does not do it again.
"""

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime, timedelta

from fieldapp.capture.book import Noted
from fieldapp.capture.counts import Standing
from fieldapp.ground import Plot

#: Reasons that mean the plot was not seen; the others mean there is no moss.
NOT_SEEN = ("flooded_today", "unsafe", "other")
#: One survey's days: within them nobody reads a plot a second time himself.
SURVEY_DAYS = 120


class OnPlots:
    """What this phone has noted on each plot.

    Parameters
    ----------
    noted : Noted
        Read now, and not again.
    held : sequence of (int, int)
        Spans of this device's numbers that the shed held when it asked for the plots.
    """

    def __init__(self, noted: Noted, held: Sequence[tuple[int, int]]) -> None:
        self._quadrats = _by_plot(noted.of("quadrat"))
        self._new = _by_plot(_new(noted.of("quadrat"), held))
        self._skipped = {name: skips[-1]
                         for name, skips in _by_plot(_new(noted.of("skip"), held)).items()}

    def done(self, plot: Plot, me: str | None, now: datetime) -> bool:
        """Say whether a plot needs no more of this person."""
        if plot.name in self._skipped:
            return True
        fresh = {one.person for one in self._new.get(plot.name, ())
                 if one.record["when"] == plot.when}
        if not plot.again:
            return bool(fresh)
        survey_began = now - timedelta(days=SURVEY_DAYS)
        return len(fresh) > 1 or any(
            one.person == me and one.at >= survey_began
            for one in self._quadrats.get(plot.name, ()) if one.record["when"] == plot.when)

    def not_seen(self, plot: Plot) -> bool:
        """Say whether a plot was skipped unseen, so that a spare stands in for it."""
        skip = self._skipped.get(plot.name)
        return (skip is not None and skip.record["why"] in NOT_SEEN
                and plot.name not in self._new)


def _new(noted: Sequence[Standing], held: Sequence[tuple[int, int]]) -> list[Standing]:
    return [one for one in noted if not any(first <= one.seq <= last for first, last in held)]


def _by_plot(noted: Sequence[Standing]) -> dict[str, list[Standing]]:
    """Sort what was noted on plots by the plot, in its order; what is by eye is on none."""
    found: defaultdict[str, list[Standing]] = defaultdict(list)
    for one in noted:
        plot = one.record.get("plot")
        if plot is not None:
            found[plot].append(one)
    return dict(found)
