"""How sentences name records."""

from collections.abc import Sequence

_SHOWN = 12


def named(records: Sequence[str]) -> str:
    """Name the first records and count the others.

    Parameters
    ----------
    records : sequence of str
        Names of records, some of them twice.

    Returns
    -------
    str
        In brackets, with a space before them; nothing for none.
    """
    names = list(dict.fromkeys(records))
    more = f" and {len(names) - _SHOWN} more" if len(names) > _SHOWN else ""
    return f" [{', '.join(names[:_SHOWN])}{more}]" if names else ""
