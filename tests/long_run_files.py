"""Invented results files of many days, each value chosen by the test that needs it: no figure was ever measured."""

import datetime as dt
import json
import random
from pathlib import Path
from typing import Any

FIRST = dt.date(2026, 1, 5)
CERTIFICATE = 26454.0


def firing(number: int | str, purpose: str = "sample", **values: Any) -> dict[str, Any]:
    """One firing of a results file, with every key of the schema."""
    made: dict[str, Any] = {
        "firing": str(number), "sheet": "Runs", "row": 2, "purpose": purpose, "sample": None, "replicate": None,
        "state": "used", "mass_g": 1.0, "rise_K": 2.5, "heat_exchange_K": None, "heat_capacity_J_per_K": None,
        "ignition_J": None, "aid_J": None, "nitric_J": None, "sulphuric_J": None, "gross_ad_J_per_g": None,
        "gross_d_J_per_g": None, "recovery_percent": None, "findings": [], "date": None, "outcome": None,
        "calorimeter": "A", "bomb": "1", "analyst": None,
    }  # fmt: skip
    unknown = set(values) - set(made)
    assert not unknown, unknown
    return {**made, **values}


def pair(sample: str, first: float, second: float, number: int = 1, **values: Any) -> list[dict[str, Any]]:
    """Two firings of one sample with these dry values."""
    return [
        firing(number + place, sample=sample, gross_d_J_per_g=value, rise_K=2.5 + number / 1e3 + place / 1e6, **values)
        for place, value in enumerate((first, second))
    ]


def check(number: int, recovery: float, **values: Any) -> dict[str, Any]:
    return firing(number, "check", recovery_percent=recovery, rise_K=2.6 + number / 1e6, **values)


def series(capacity: float, date: str, **values: Any) -> dict[str, Any]:
    made: dict[str, Any] = {
        "calorimeter": "A", "bomb": "1", "heat_capacity_J_per_K": capacity, "n": 5, "sd_J_per_K": 6.0,
        "rsd_percent": 0.06, "rise_range_K": [2.1, 2.9], "date": date, "state": "in force", "firings": [],
        "name": None, "expires": None,
    }  # fmt: skip
    assert set(values) <= set(made)
    return {**made, **values}


def day(
    date: dt.date | str | None = FIRST,
    firings: list[dict[str, Any]] | None = None,
    *,
    sha256: str | None = None,
    issue: int = 1,
    fuel: dict[str, str] | None = None,
    series: list[dict[str, Any]] | None = None,
    findings: list[tuple[str, str]] | None = None,
    **settings: Any,
) -> dict[str, Any]:
    """One results file; samples stand in it as its firings name them."""
    fired = firings or []
    names = dict.fromkeys(f["sample"] for f in fired if f["sample"])
    text = date.isoformat() if isinstance(date, dt.date) else date
    return {
        "schema": "batchcal.results/1",
        "batchcal_version": "0.1.0",
        "input": {"file": f"{text}.xlsx", "sha256": sha256 or f"{text}-{len(fired)}-{json.dumps(fired)[:400]}"},
        "outputs": {},
        "release": {"state": "draft", "analyst": settings.pop("analyst", "K. Lindqvist"), "reviewer": None,
                    "issue": issue},
        "settings": {
            "laboratory": "Example Fuel Laboratory (invented)", "batch": None, "batch_date": text, "method": "lab",
            "comparison_basis": "d", "repeatability_limit_J_per_g": 120.0, "check_limit_percent": None,
            "check_limit_J_per_g": None, "benzoic_heat_in_air_J_per_g": CERTIFICATE, **settings,
        },
        "series": series or [],
        "firings": fired,
        "samples": [{"sample": name, "decision": "ready", "fuel_class": (fuel or {}).get(name)} for name in names],
        "findings": [{"code": code, "severity": severity} for code, severity in findings or []],
    }  # fmt: skip


def write(folder: Path, *documents: dict[str, Any]) -> Path:
    """Write documents as 1.results.json, 2.results.json and so on."""
    folder.mkdir(parents=True, exist_ok=True)
    for number, document in enumerate(documents, 1):
        (folder / f"{number:04}.results.json").write_text(json.dumps(document), encoding="utf-8")
    return folder


_FUELS = {"hard coal": 42.0, "lignite": 61.0, "wood pellets": 44.0, "heavy oil": 30.0}
_ANALYSTS = ("AK", "JM", "TR")


def laboratory(days: int, *, samples: int = 8, seed: int = 1, drift: float = 0.0) -> list[dict[str, Any]]:
    """Days of an invented laboratory with two bombs: series every 80 days, checks daily, normal scatter.

    ``drift`` is what the checks on bomb 2 gain in % from two thirds of the run on; scatter by fuel is in _FUELS.
    """
    chance = random.Random(seed)
    documents: list[dict[str, Any]] = []
    current: list[dict[str, Any]] = []
    number = 0
    capacity = {"1": 10112.0, "2": 10087.0}
    for index in range(days):
        date = FIRST + dt.timedelta(index * 7 // 5)
        fired: list[dict[str, Any]] = []
        if index % 57 == 0:
            current = []
            for bomb in "12":
                capacity[bomb] += chance.gauss(0, 5)
                for _ in range(5):
                    number += 1
                    current.append(firing(
                        number, "calibration", bomb=bomb, date=date.isoformat(), mass_g=1.0 + number / 1e6,
                        heat_capacity_J_per_K=capacity[bomb] + chance.gauss(0, 7),
                    ))  # fmt: skip
            start = date
        fired += current
        for bomb in "12":
            number += 1
            bias = drift if bomb == "2" and index > days * 2 / 3 else 0.0
            fired.append(check(number, 100 + bias + chance.gauss(0, 0.07), bomb=bomb, date=date.isoformat()))
        fuel, analyst = {}, chance.choice(_ANALYSTS)
        findings = [(chance.choice(("oxygen-pressure-low", "residue-noted", "number-as-text", "pair-apart")),
                     chance.choice(("review", "review", "block")))] if chance.random() < 0.5 else []  # fmt: skip
        for place in range(samples):
            sample = f"26-{index:04}{place:02}"
            fuel[sample] = chance.choice(list(_FUELS))
            scatter, true = _FUELS[fuel[sample]], 20000 + 9000 * chance.random()
            bomb = chance.choice("12")
            a, b = (true + chance.gauss(0, scatter) for _ in range(2))
            values = [a, b] if abs(a - b) <= 120 else [a, b, true + chance.gauss(0, scatter)]
            for value in values:
                number += 1
                outcome = chance.choice(("misfire", "incomplete", "spoiled")) if chance.random() < 0.012 else None
                fired.append(firing(
                    number, sample=sample, bomb=bomb, date=date.isoformat(), analyst=analyst, outcome=outcome,
                    state="excluded" if outcome else "used", gross_d_J_per_g=None if outcome else value,
                    rise_K=2.2 + number / 1e7,
                ))  # fmt: skip
        means = []
        for bomb in "12":
            own = [f for f in current if f["bomb"] == bomb]
            values = [f["heat_capacity_J_per_K"] for f in own]
            mean = sum(values) / len(values)
            sd = (sum((v - mean) ** 2 for v in values) / (len(values) - 1)) ** 0.5
            means.append(series(
                mean, start.isoformat(), bomb=bomb, sd_J_per_K=sd, firings=[f["firing"] for f in own],
                expires=(start + dt.timedelta(90)).isoformat(),
            ))  # fmt: skip
        documents.append(day(date, fired, fuel=fuel, series=means, findings=findings, check_limit_percent=0.2,
                             sha256=f"{seed}-{index}"))  # fmt: skip
    return documents
