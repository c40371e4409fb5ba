"""The units under which a figure that cannot be right would be possible: a name for the factor that was slipped."""

from collections.abc import Callable

from batchcal import reference, units


def hint(value: float, unit: str, quantity: str, fits: Callable[[float, str], bool]) -> str:
    """Return in words under which other units of a quantity a figure as typed would be possible, or "".

    ``fits`` judges a value in inside units, with the inside unit of its denominator ("g", "cm", ...). A calorie
    is taken as 4.184 J here: the kinds differ by less than any such factor.
    """
    calorie = reference.constant("calorie-thermochemical").value
    typed = units.read(unit, quantity) if unit else None
    by_factor: dict[tuple[str, float], list[str]] = {}
    for text in units.readable(quantity).split(", "):
        other = units.read(text, quantity)
        if other is None or (typed is not None and other.text == typed.text):
            continue
        if fits(other.inside(value, calorie), other.per):
            by_factor.setdefault((other.per, round(other.inside(1.0, calorie), 12)), []).append(text)
    told = []
    for (per, factor), texts in by_factor.items():
        times = "" if typed is None or typed.per != per else _times(factor / typed.inside(1.0, calorie))
        told.append(", ".join(texts[:-1]) + (" or " if texts[:-1] else "") + texts[-1] + times)
    return f"; in {', or in '.join(told)}, it would fit" if told else ""


def _times(ratio: float) -> str:
    """Return in brackets the factor between what a figure is worth in two units."""
    return f" (times {ratio:.4g})" if ratio >= 1 else f" (divided by {1 / ratio:.4g})"
