"""The validation record as a page and as lines for the screen; templates compute nothing."""

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from msgspec import Struct

from batchcal.report.environment import environment

_LONG = 12
"""More figures than this in one input are counted on the page; the JSON record has them all."""

_UNITS = {
    "_J_per_mol": "J/mol",
    "_J_per_g": "J/g",
    "_eq_per_L": "eq/L",
    "_g_per_cm3": "g/cm³",
    "_g_per_mol": "g/mol",
    "_K_per_min": "K/min",
    "_J_or_cal_per_g": "",
    "_percent": "%",
    "_mol": "mol",
    "_min": "min",
    "_mL": "mL",
    "_K": "K",
    "_C": "°C",
    "_g": "g",
}
"""Units at the end of the names of inputs, the longer before the shorter; ``per_K`` and ``per_g`` stay words."""


class _Value(Struct, frozen=True):
    quantity: str
    unit: str
    expected: str
    tolerance: str
    obtained: str
    not_to_be: str
    verdict: str


class _Case(Struct, frozen=True):
    case: str
    status: str
    verdict: str
    values: Sequence[_Value]
    inputs: str
    note: str
    trouble: str
    source: int


class _Group(Struct, frozen=True):
    title: str
    formulas: str
    cases: Sequence[_Case]


def validation_page(record: Mapping[str, Any]) -> str:
    """Return the page of a validation record as HTML; the same record gives the same text."""
    cases: list[Mapping[str, Any]] = record["cases"]
    sources = list(dict.fromkeys(case["source"] for case in cases))
    failed = [case for case in cases if case["verdict"] != "pass"]
    return (
        environment()
        .get_template("verify.html.j2")
        .render(
            record=record,
            verdict=verdict_line(record),
            failed=[_case(case, sources) for case in failed],
            groups=[
                _Group(title, ", ".join(group[0]["formulas"]), [_case(case, sources) for case in group])
                for title, members in itertools.groupby(cases, key=lambda case: case["kind"])
                for group in [list(members)]
            ],
            sources=sources,
        )
    )


def validation_lines(record: Mapping[str, Any]) -> Iterator[str]:
    """Return the record line by line for the screen: each case with its values, then its source."""
    for case in record["cases"]:
        yield f"{case['verdict']}  {case['case']} ({case['kind']}; {case['status']})"
        for value in map(_value, case["values"]):
            unit = f" {value.unit}" if value.unit else ""
            wrong = f"; must not be {value.not_to_be}" if value.not_to_be else ""
            yield (
                f"      {value.quantity}: expected {value.expected} within {value.tolerance}{wrong}, "
                f"obtained {value.obtained}{unit}"
            )
        if case["trouble"]:
            yield f"      {case['trouble']}"
        yield f"      source: {case['source']}"


def verdict_line(record: Mapping[str, Any]) -> str:
    """Return the outcome in one line, counted by status."""
    counts: Mapping[str, Mapping[str, Any]] = record["counts"]
    parts = ", ".join(f"{status} {count['passed']} of {count['cases']}" for status, count in counts.items())
    passed, cases = (sum(count[name] for count in counts.values()) for name in ("passed", "cases"))
    word = "all" if record["verdict"] == "pass" else "not all"
    return f"{word} cases passed, {passed} of {cases} ({parts})"


def _case(case: Mapping[str, Any], sources: Sequence[str]) -> _Case:
    return _Case(
        case=case["case"],
        status=case["status"],
        verdict=case["verdict"],
        values=[_value(value) for value in case["values"]],
        inputs=", ".join(_input(name, text) for name, text in case["inputs"].items()),
        note=case["note"] or "",
        trouble=case["trouble"] or "",
        source=sources.index(case["source"]) + 1,
    )


def _input(name: str, text: str) -> str:
    """Return an input in words, its unit taken from the end of its name: mass_g of 2.12 is "mass 2.12 g"."""
    ending = next((ending for ending in _UNITS if name.endswith(ending) and not name.endswith(f"_per{ending}")), "")
    words, unit = name.removesuffix(ending).replace("_", " "), _UNITS.get(ending, "")
    figures = text.split()
    if not unit and not figures[0][-1].isdigit():
        return f"{words}: {text}"
    shown = f"{len(figures)} figures" if len(figures) > _LONG else text
    return f"{words} {shown}{' ' if unit else ''}{unit}"


def _value(value: Mapping[str, Any]) -> _Value:
    wrong = value["printed_wrong"]
    return _Value(
        quantity=value["quantity"],
        unit=value["unit"] or "",
        expected=_plain(value["expected"]),
        tolerance="exact" if value["tolerance"] == 0 else f"± {value['tolerance']:.2g}",
        obtained=_to_tolerance(value["obtained"], value["tolerance"]),
        not_to_be="" if wrong is None else _plain(wrong),
        verdict=value["verdict"],
    )


def _plain(value: float) -> str:
    return _signed(repr(value).removesuffix(".0"))


def _to_tolerance(value: float, tolerance: float) -> str:
    """Return ``value`` with two figures more than the tolerance, so that a difference within it can be seen."""
    if tolerance == 0 or value == 0 or not math.isfinite(value):
        return _plain(value)
    figures = math.floor(math.log10(abs(value))) - math.floor(math.log10(tolerance)) + 2
    return _signed(f"{value:#.{min(max(figures, 2), 17)}g}".removesuffix("."))


def _signed(text: str) -> str:
    return "−" + text[1:] if text.startswith("-") else text
