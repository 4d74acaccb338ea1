"""The form for lifts that flew, filled in as far as the plan knows it.

Rule 1: the person is left empty, so that no row is taken before somebody has looked at it.
"""

from sync.intake.form import form_columns
from sync.plan.lifts.values import LiftPlan
from sync.report.csv_rows import csv_text
from sync.report.rounding import rounded


def lifts_form(plan: LiftPlan, *, form_id: str) -> str:
    """Write a batch form with a row a lift.

    Parameters
    ----------
    plan : LiftPlan
        Whole.
    form_id : str
        Made up for this form.

    Returns
    -------
    str
        CSV as `fallow form DIR batch` writes it; what did not fly is to be struck out.
    """
    return csv_text(form_columns("batch"), [
        dict.fromkeys(form_columns("batch"), "") | {
            "form": form_id, "row": card.number, "kind": "batch", "day": plan.on.isoformat(),
            "batch": card.batch, "stage": "lifted", "bags": rounded(card.bags, 0.1),
            "from": from_words(card.pile.label),
        }
        for card in plan.lifts
    ])


def from_words(label: str) -> str:
    """Write a label so that a form reads it as one: with a | behind, where it has blanks."""
    return f"{label}|" if " " in label or "," in label else label
