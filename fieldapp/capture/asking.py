"""Asking once before a record is kept."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from fieldapp.capture.outing import Outing
from fieldapp.record import Problem, Usual, questions, stamp


def ask(fields: Mapping[str, Any], *, outing: Outing, now: datetime,
        usual: Usual) -> tuple[Problem, ...]:
    """Find what to ask about a record that is about to be written.

    Parameters
    ----------
    fields : mapping
        Its kind and own fields.
    outing : Outing
        Who would write it.
    now : datetime
        Aware.
    usual : Usual
        What is usual today.

    Returns
    -------
    tuple of Problem
        As `fieldapp.record.questions`; none for what could not be written at all.
    """
    number = {"device": outing.book.device, "seq": outing.book.last_seq() + 1}
    return questions({"at": stamp(now), "person": outing.carrier(), **fields, **number},
                     usual=usual)
