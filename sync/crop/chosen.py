"""The quadrats of a block by cell, and which of them count on a day.

Rule 1: cells are chosen and read one by one, for a quadrat outweighs none of another cell.
Rule 2: what was chosen for one day serves another with the same quadrats and picking days.
"""

import bisect
from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date

from sync.block import Plot
from sync.intake.seen import QuadratSeen
from sync.picks.once import Once
from sync.survey.readings import Reading, readings_of


class Quadrats:
    """The quadrats of a block by cell.

    Parameters
    ----------
    quadrats : sequence of QuadratSeen
        All of them with their cells; of no cell is none.
    plots : sequence of Plot
        Places drawn or chosen.
    survey_days : int
        Quadrats of one plot nearer than this belong to one survey. [days]
    kept : Once
        What was chosen before.

    Attributes
    ----------
    quadrats : mapping of str to sequence of QuadratSeen
        By cell, each by day.
    """

    def __init__(
        self, quadrats: Sequence[QuadratSeen], plots: Sequence[Plot], *, survey_days: int,
        kept: Once[tuple[Reading, ...]],
    ) -> None:
        self._survey_days, self._kept = survey_days, kept
        on_plot = {plot.name: plot for plot in plots}
        self._plots: dict[str, list[Plot]] = defaultdict(list)
        for plot in on_plot.values():
            self._plots[plot.cell].append(plot)
        mine: dict[str, list[QuadratSeen]] = defaultdict(list)
        for one in quadrats:
            plot_of = on_plot.get(one.plot or "")
            cell = plot_of.cell if plot_of is not None else one.cell
            if cell is not None:
                mine[cell].append(one)
        # By day, and on one day in the order given.
        self.quadrats = {
            cell: sorted(each, key=lambda one: one.day) for cell, each in mine.items()}
        self._days = {cell: [one.day for one in each] for cell, each in self.quadrats.items()}
        self._seen: dict[tuple[str, int], tuple[QuadratSeen, ...]] = {}

    def chosen(
        self, picking_days: Mapping[str, Sequence[date]], *, until: date
    ) -> dict[str, tuple[Reading, ...]]:
        """Choose the readings that count until a day.

        Parameters
        ----------
        picking_days : mapping of str to sequence of date
            Days on which each cell was picked.
        until : date
            Last day whose quadrats are used.

        Returns
        -------
        dict of str to tuple of Reading
            By cell, each by day and name; as `readings_of` chooses.
        """
        found = {}
        for cell, days in self._days.items():
            seen = bisect.bisect_right(days, until)
            if seen:
                found[cell] = self._cell(cell, seen, picking_days.get(cell, ()))
        return found

    def _cell(self, cell: str, seen: int, picked: Sequence[date]) -> tuple[Reading, ...]:
        if (cell, seen) not in self._seen:
            self._seen[cell, seen] = tuple(self.quadrats[cell][:seen])
        mine = self._seen[cell, seen]
        parting = tuple(day for day in picked if day < mine[-1].day)
        return self._kept.give(cell, (mine, parting), lambda: readings_of(
            mine, self._plots[cell], lambda _: None, survey_days=self._survey_days,
            picking_days={cell: parting})[0])
