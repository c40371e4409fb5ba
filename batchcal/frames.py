"""The results of an evaluation as tables of pandas: one row each a firing, heat capacity, sample or finding.

The columns hold what the lists of results.json hold, unrounded and under the same names, with the unit in each name.
What is nested there has a column of its own here: ``gross_J_per_g`` by basis gives ``gross_ad_J_per_g`` and so on, and
a range its lowest and highest. What was not computed is NA and never 0. Numbers of firings and samples are text, so
that 007 stays 007; lists are tuples, one row each after ``DataFrame.explode``.
"""

from collections.abc import Iterator, Mapping
from typing import Any

import pandas as pd

from batchcal.model import Evaluation
from batchcal.report.results import results_document

_TEXT, _NUMBER, _COUNT, _DATE, _LIST = "string", "Float64", "Int64", "datetime64[s]", "object"

_FIRINGS = {
    "firing": _TEXT, "sheet": _TEXT, "row": _COUNT, "purpose": _TEXT, "sample": _TEXT, "replicate": _TEXT,
    "state": _TEXT, "date": _DATE, "outcome": _TEXT, "calorimeter": _TEXT, "bomb": _TEXT, "analyst": _TEXT,
    "mass_g": _NUMBER, "rise_K": _NUMBER, "heat_exchange_K": _NUMBER, "heat_capacity_J_per_K": _NUMBER,
    "ignition_J": _NUMBER, "aid_J": _NUMBER, "nitric_J": _NUMBER, "sulphuric_J": _NUMBER,
    "gross_ad_J_per_g": _NUMBER, "gross_d_J_per_g": _NUMBER, "recovery_percent": _NUMBER, "findings": _LIST,
}  # fmt: skip

_SERIES = {
    "calorimeter": _TEXT, "bomb": _TEXT, "name": _TEXT, "state": _TEXT, "date": _DATE, "expires": _DATE,
    "heat_capacity_J_per_K": _NUMBER, "n": _COUNT, "sd_J_per_K": _NUMBER, "rsd_percent": _NUMBER,
    "lowest_rise_K": _NUMBER, "highest_rise_K": _NUMBER, "firings": _LIST,
}  # fmt: skip

_SAMPLES = {
    "sample": _TEXT, "description": _TEXT, "fuel_class": _TEXT, "source": _TEXT, "decision": _TEXT, "n_used": _COUNT,
    "range_J_per_g": _NUMBER, "limit_J_per_g": _NUMBER, "rule": _TEXT,
    "gross_ad_J_per_g": _NUMBER, "gross_d_J_per_g": _NUMBER, "gross_ar_J_per_g": _NUMBER, "gross_daf_J_per_g": _NUMBER,
    "net_constant_pressure_ad_J_per_g": _NUMBER, "net_constant_pressure_d_J_per_g": _NUMBER,
    "net_constant_pressure_ar_J_per_g": _NUMBER, "net_constant_volume_ad_J_per_g": _NUMBER,
    "net_constant_volume_d_J_per_g": _NUMBER, "net_constant_volume_ar_J_per_g": _NUMBER,
    "expanded_uncertainty_ad_J_per_g": _NUMBER, "expanded_uncertainty_d_J_per_g": _NUMBER,
    "expanded_uncertainty_ar_J_per_g": _NUMBER, "expanded_uncertainty_daf_J_per_g": _NUMBER,
    "expanded_uncertainty_net_ad_J_per_g": _NUMBER, "expanded_uncertainty_net_d_J_per_g": _NUMBER,
    "expanded_uncertainty_net_ar_J_per_g": _NUMBER, "coverage_factor": _NUMBER, "findings": _LIST,
}  # fmt: skip

_FINDINGS = {
    "code": _TEXT, "severity": _TEXT, "sheet": _TEXT, "row": _COUNT, "cell": _TEXT, "firing": _TEXT, "sample": _TEXT,
    "message": _TEXT, "remedy": _TEXT,
}  # fmt: skip


def firings(evaluation: Evaluation) -> pd.DataFrame:
    """Return one row a firing, as logged, whatever became of it; heats in J, NA where not computed.

    ``heat_capacity_J_per_K`` is the one found by a calibration firing and the one used by any other.
    """
    return _frame(evaluation, "firings", _FIRINGS)


def series(evaluation: Evaluation) -> pd.DataFrame:
    """Return one row a heat capacity, from a series of benzoic acid firings or as entered in Setup (``n`` is NA)."""
    return _frame(evaluation, "series", _SERIES)


def samples(evaluation: Evaluation) -> pd.DataFrame:
    """Return one row a sample: its decision, its values by basis in J/g, and the codes of its findings.

    A value is there for what could be worked out; only ``decision`` "ready" says that it can be released.
    """
    return _frame(evaluation, "samples", _SAMPLES)


def findings(evaluation: Evaluation) -> pd.DataFrame:
    """Return one row a finding, the most severe first; where it stands, what it says, and what to do."""
    return _frame(evaluation, "findings", _FINDINGS)


def _frame(evaluation: Evaluation, part: str, columns: Mapping[str, Any]) -> pd.DataFrame:
    """Return a list of the results document as a table; KeyError where document and columns differ."""
    entries: Any = results_document(evaluation, {})[part]
    rows = [dict(_flat(entry)) for entry in entries]
    unknown = {name for row in rows for name in row} - set(columns)
    if unknown:
        raise KeyError(f"{part}: no column for {', '.join(sorted(unknown))}")
    return pd.DataFrame({name: pd.Series([row[name] for row in rows], dtype=kind) for name, kind in columns.items()})


def _flat(entry: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    for name, value in entry.items():
        if name == "rise_range_K":
            lowest, highest = (None, None) if value is None else value
            yield "lowest_rise_K", lowest
            yield "highest_rise_K", highest
        elif isinstance(value, Mapping):
            for basis, one in value.items():
                yield f"{name.removesuffix('_J_per_g')}_{basis}_J_per_g", one
        elif isinstance(value, list):
            yield name, tuple(value)
        else:
            yield name, str(value) if isinstance(value, str) else value  # a word of a list is a plain text here
