"""Labels: what is written on a tag, proposed so that none is ever used twice.

Rule 1: a label once written on a tag stays used, though its record was undone.
Rule 2: a phone proposes its own code and a number only, so that two phones never meet.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

#: The fields that hold labels, by kind.
_FIELDS = {"bag": ("pile",), "quadrat": ("clip",), "clip": ("clip",), "batch": ("batch",)}


def phone_code(device: str) -> str:
    """Give the phone code of a device: what stands before its install tag."""
    return device.rpartition("-")[0] or device


def labels_in(records: Iterable[Mapping[str, Any]]) -> Iterator[str]:
    """Go through every label that some records name.

    Parameters
    ----------
    records : iterable of mapping
        Records or drafts, whether they count or not.

    Yields
    ------
    str
        Labels, repeats too.
    """
    for record in records:
        kind = record.get("kind", "")
        for field in _FIELDS.get(kind, ()):
            if record.get(field) is not None:
                yield record[field]
        if kind == "batch":
            yield from record.get("from") or ()
        if kind == "mark" and record.get("what") == "pile":
            yield record["name"]


def next_label(used: Iterable[str], *, code: str, label_from: int) -> str:
    """Propose the next label.

    Parameters
    ----------
    used : iterable of str
        Labels used so far.
    code : str
        The phone code, as `p3`.
    label_from : int
        The first number that the shed knows to be free.

    Returns
    -------
    str
        As `P3-014`: one past the highest own number, three digits or more.
    """
    own = re.compile(rf"\A{re.escape(code.upper())}-0*([0-9]{{1,9}})\Z")
    numbers = [int(found.group(1)) for label in used if (found := own.match(label))]
    return f"{code.upper()}-{max([label_from - 1, *numbers]) + 1:03d}"
