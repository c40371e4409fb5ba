"""Plain tables for the terminal."""

from collections.abc import Collection, Sequence


def table(headings: Sequence[str], rows: Sequence[Sequence[str]], right: Collection[int] = ()) -> list[str]:
    """Return a table as lines; the columns whose positions are in ``right`` are set right."""
    lines = [headings, *rows]
    widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
    form = "  ".join(f"{{:{'>' if place in right else '<'}{width}}}" for place, width in enumerate(widths))
    return [form.format(*line).rstrip() for line in lines]
