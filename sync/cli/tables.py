"""Tables of plain text, as wide as what stands in them."""

from collections.abc import Collection, Sequence


def text_table(
    head: Sequence[str], rows: Sequence[Sequence[str]], *, left: Collection[int]
) -> list[str]:
    """Write a table.

    Parameters
    ----------
    head : sequence of str
        Names of the columns.
    rows : sequence of sequence of str
        As long as `head`.
    left : collection of int
        Columns that stand to the left, by number; the others stand to the right.

    Returns
    -------
    list of str
        A line each, without blanks at the end.
    """
    wide = [max(len(row[i]) for row in (head, *rows)) for i in range(len(head))]
    return [
        "  ".join(text.ljust(width) if i in left else text.rjust(width)
                  for i, (text, width) in enumerate(zip(row, wide, strict=True))).rstrip()
        for row in (head, *rows)
    ]
