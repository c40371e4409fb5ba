"""Plain tables for the terminal."""

from collections.abc import Collection, Sequence


def table(headings: Sequence[str], rows: Sequence[Sequence[str]], right: Collection[int] = ()) -> list[str]:
    """Return a table as lines; the columns whose positions are in ``right`` are set right."""
    lines = [tuple(headings), *(tuple(row) for row in rows)]
    widths = [max(len(line[column]) for line in lines) for column in range(len(headings))]
    return [
        "  ".join(
            text.rjust(width) if column in right else text.ljust(width)
            for column, (text, width) in enumerate(zip(line, widths, strict=True))
        ).rstrip()
        for line in lines
    ]
