"""The report's section on the seasons to come.

Rule 1: it says what `fallow seasons` says, in the same words.
"""

from sync.plan.seasons import SeasonPlan
from sync.report.page_watched import Part, Section
from sync.report.seasons_rows import plan_lines, plan_table


def seasons_section(plan: SeasonPlan, name: str) -> Section:
    """Give the section.

    Parameters
    ----------
    plan : SeasonPlan
        Of the report's register.
    name : str
        The block's.

    Returns
    -------
    Section
        With a table where anything is planned.
    """
    before, after = plan_lines(plan, name)
    table = plan_table(plan) if plan.picks else None
    return Section("seasons", "Seasons", [Part(before, table, after)])
