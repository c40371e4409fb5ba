"""Uncertainty in words: beside a value, for a whole day, and part by part."""

from collections.abc import Callable, Iterator, Mapping, Sequence

from batchcal.model import SampleResult, Uncertainty
from batchcal.report.words import Figure, figure, joined, plain, sentence
from batchcal.terms import VALUE_NAMES


def spread(entry: Uncertainty | None, printed: Callable[[float], str], factor: float) -> str:
    """Return the expanded uncertainty as it stands beside its value, or "" where it is not known in full.

    ``factor`` is the J/g in one report unit.
    """
    if entry is None or not entry.complete:
        return ""
    found = figure(printed(entry.expanded_J_per_g), entry.expanded_J_per_g / factor)
    return Figure(f"± {found}", found.number, f"± {found.full}" if found.full else "")


def day_in_words(samples: Sequence[SampleResult], shown: Sequence[str]) -> tuple[str, tuple[str, ...], tuple[str, ...]]:
    """Return what ± means, which values have none and why, and what weighs most; ``shown`` are the values."""
    factors: dict[float, None] = {}
    most: dict[str, dict[tuple[str, ...], list[str]]] = {}
    lacking: dict[str, None] = {}
    for sample in samples:
        advised: dict[str, list[str]] = {}
        for value in shown:
            entry = sample.uncertainty.get(value)
            if entry is None:
                continue
            if entry.complete:
                factors[entry.coverage_factor] = None
                advised.setdefault(entry.advice, []).append(VALUE_NAMES[value])
            else:
                lacking.update(dict.fromkeys(entry.missing))
        for advice, values in advised.items():
            most.setdefault(advice, {}).setdefault(tuple(values), []).append(sample.sample)
    meaning, lines = "", []
    if factors:
        factor = joined(plain(factor) for factor in factors)
        meaning = f"± is the expanded uncertainty, coverage factor k = {factor}."
    if lacking:
        start = "Values without ± lack" if factors else "No uncertainty is stated, for want of"
        lines.append(f"{start}: {joined(lacking)}. Enter on Setup what is known, with its source.")
    for sample in samples:
        if sample.uncertainty_note:
            lines.append(f"{sample.sample}: no uncertainty is stated; {sample.uncertainty_note}.")
    advice_lines = tuple(sentence(f"{advice} ({_whose(where)})") for advice, where in most.items() if advice)
    return meaning, tuple(lines), advice_lines


def _whose(where: dict[tuple[str, ...], list[str]]) -> str:
    """Return whose values they are: "26-1041: dry and net dry; 26-1043: dry"."""
    return "; ".join(f"{', '.join(names)}: {joined(values)}" for values, names in where.items())


def parts_in_words(entry: Uncertainty) -> Iterator[tuple[str, str, str]]:
    """Return each part of an uncertainty with its figure and where that comes from, largest first."""
    for part in sorted(entry.contributions, key=lambda part: -part.standard_J_per_g):
        yield part.name, f"{part.standard_J_per_g:.2f} J/g", part.note


def sum_in_words(entry: Uncertainty) -> str:
    """Return how the parts combine: the root of the sum of their squares, times the coverage factor."""
    parts = ", ".join(f"{part.name} {part.standard_J_per_g:.2f}" for part in entry.contributions)
    expanded = f"{entry.standard_J_per_g:.2f} x {entry.coverage_factor:g} = {entry.expanded_J_per_g:.2f} J/g"
    text = f"root of the sum of squares of {parts}: {expanded}"
    return text if entry.complete else f"{text}, at least"


def not_included(entries: Mapping[str, Uncertainty]) -> str:
    """Return what the uncertainties of a sample leave out, each part said once with the values that lack it, or ""."""
    lacking: dict[str, list[str]] = {}
    for value, entry in entries.items():
        for part in entry.missing:
            lacking.setdefault(part, []).append(VALUE_NAMES[value])
    alike: dict[tuple[str, ...], list[str]] = {}
    for part, values in lacking.items():
        alike.setdefault(tuple(values), []).append(part)
    return "; ".join(
        joined(parts) + ("" if len(values) == len(entries) else f" (only {joined(values)})")
        for values, parts in alike.items()
    )
