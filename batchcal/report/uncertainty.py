"""Uncertainty in words: beside a value, for a whole day, and part by part."""

from collections.abc import Callable, Iterator, Sequence

from batchcal.model import SampleResult, Uncertainty
from batchcal.report.words import joined, plain
from batchcal.terms import BASIS_NAMES, Basis


def spread(entry: Uncertainty | None, printed: Callable[[float], str]) -> str:
    """Return the expanded uncertainty as it stands beside its value, or "" where it is not known in full."""
    return "" if entry is None or not entry.complete else f"± {printed(entry.expanded_J_per_g)}"


def value_in_words(value: str) -> str:
    """Return the name of a value: "dry" for "d", "net as received" for "net_ar"."""
    basis = BASIS_NAMES[Basis(value.removeprefix("net_"))]
    return f"net {basis}" if value.startswith("net_") else basis


def day_in_words(samples: Sequence[SampleResult], shown: Sequence[str]) -> tuple[str, ...]:
    """Return what ± means, what weighs most in it, and which values have none and why; ``shown`` are the values."""
    factors: dict[float, None] = {}
    most: dict[str, dict[str, list[str]]] = {}
    lacking: dict[str, dict[str, list[str]]] = {}
    for sample in samples:
        for value in shown:
            entry = sample.uncertainty.get(value)
            if entry is None:
                continue
            if entry.complete:
                factors[entry.coverage_factor] = None
                most.setdefault(entry.advice, {}).setdefault(value_in_words(value), []).append(sample.sample)
            else:
                for part in entry.missing:
                    lacking.setdefault(part, {}).setdefault(value_in_words(value), []).append(sample.sample)
    lines = []
    if factors:
        factor = joined(plain(factor) for factor in factors)
        lines.append(f"± is the expanded uncertainty, coverage factor k = {factor}.")
        lines += [f"{_whose(where)}: {advice}" for advice, where in most.items() if advice]
    if lacking:
        start = "Values without ± lack" if factors else "No uncertainty is stated, for want of"
        lines.append(f"{start}: {joined(lacking)}. Enter on Setup what is known, with its source.")
    for sample in samples:
        if sample.uncertainty_note:
            lines.append(f"{sample.sample}: no uncertainty is stated; {sample.uncertainty_note}.")
    return tuple(lines)


def _whose(where: dict[str, list[str]]) -> str:
    values = list(where)
    numbers = list(dict.fromkeys(number for names in where.values() for number in names))
    return f"{joined(values).capitalize()} ({', '.join(numbers)})"


def parts_in_words(entry: Uncertainty) -> Iterator[tuple[str, str]]:
    """Return each part of an uncertainty with its figure and where that comes from, largest first, then the sum."""
    for part in sorted(entry.contributions, key=lambda part: -part.standard_J_per_g):
        yield part.name, f"{part.standard_J_per_g:.2f} J/g ({part.note})"
    for lacking in entry.missing:
        yield "not included", lacking
    squares = " + ".join(f"{part.standard_J_per_g:.2f}²" for part in entry.contributions)
    total = f"√({squares}) = {entry.standard_J_per_g:.2f} J/g"
    expanded = f"x {entry.coverage_factor:g} = {entry.expanded_J_per_g:.2f} J/g"
    yield "standard uncertainty", total
    yield "expanded", f"{entry.standard_J_per_g:.2f} {expanded}" + ("" if entry.complete else ", at least")
