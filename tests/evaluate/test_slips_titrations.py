"""Titres shifted by a row, strengths of twice or half, and single titres out of line, by hand.

1 g with S % of sulphur has 2 x 1000 S / (100 x 32.06) = 0.624 S mmol of acid beside the nitric. With 0.1 eq/L
and no blank, n mmol of acid take 10 n mL.
"""

from pathlib import Path
from typing import Any

import pytest
from logbook import Log, firing, plain_log, run, sample

from batchcal.findings import Finding, Severity
from batchcal.model import Evaluation
from batchcal.terms import Decision

CODES = {"titre-shift", "concentration-slip", "titre-out-of-band", "nitric-negative"}
SULPHUR = (0.2, 3.0, 0.1, 2.0, 1.0, 0.0, 2.5, 0.5)
NITRIC = (0.50, 0.45, 0.55, 0.40, 0.60, 0.52, 0.48, 0.50, 0.43, 0.57, 0.51, 0.49, 0.54, 0.46, 0.50, 0.47)


def acid_log(sulphur: tuple[float, ...] = SULPHUR, strength: float = 0.1, scheme: str = "total as nitric") -> Log:
    """Two firings of each sample, in one order and then once more, with the titres of an honest day."""
    log = plain_log()
    log.setup |= {
        "Acid scheme": (scheme,),
        "Nitric acid heat": (60, "kJ/mol", "own"),
        "Sulphuric acid heat": (300, "kJ/mol", "own"),
    }
    log.rows["Samples"] = []
    for index in range(2 * len(sulphur)):
        name = f"S{index % len(sulphur) + 1}"
        content = sulphur[index % len(sulphur)]
        if index < len(sulphur):
            log.add("Samples", sample_no=name, moisture_analysis=4.0, sulphur=content, basis="ad")
        log.add("Runs", firing_no=index + 1, sample_no=name, sample_mass=1.0, temperature_rise=2.5)
        acid = NITRIC[index] + 20 * content / 32.06
        log.add("Titration", firing_no=index + 1, titrant="sodium hydroxide", concentration=strength,
                concentration_unit="mol/L", titre=round(10 * acid, 2))  # fmt: skip
    return log


def found(evaluation: Evaluation) -> list[Finding]:
    return [finding for finding in evaluation.findings if finding.code in CODES]


def titres(log: Log) -> list[Any]:
    return [row["Titre (mL)"] for row in log.rows["Titration"]]


def put(log: Log, values: list[Any]) -> Log:
    for row, value in zip(log.rows["Titration"], values, strict=True):
        row["Titre (mL)"] = value
    return log


@pytest.mark.parametrize("scheme", ["total as nitric", "sulphur apart"])
def test_an_honest_day_is_left_alone(tmp_path: Path, scheme: str) -> None:
    assert found(run(acid_log(scheme=scheme), tmp_path)) == []


@pytest.mark.parametrize("scheme", ["total as nitric", "sulphur apart"])
def test_titres_pushed_down_by_a_row(tmp_path: Path, scheme: str) -> None:
    log = acid_log(scheme=scheme)
    honest = titres(log)
    put(log, [*honest[:6], *honest[5:-1]])  # the sixth stands twice, the last is lost
    evaluation = run(log, tmp_path)
    (one,) = found(evaluation)
    assert (one.code, one.severity, one.where) == ("titre-shift", Severity.BLOCK, "Titration!G8")
    assert "one row too low" in one.message
    assert sample(evaluation, "S7").decision is Decision.HOLD
    assert one not in firing(evaluation, 5).findings


def test_titres_pulled_up_by_a_row(tmp_path: Path) -> None:
    log = acid_log()
    honest = titres(log)
    put(log, [*honest[:6], *honest[7:], None])
    (one,) = [finding for finding in found(run(log, tmp_path)) if finding.code == "titre-shift"]
    assert one.where == "Titration!G8"
    assert "one row too high" in one.message


def test_a_shift_among_samples_without_sulphur_cannot_be_seen(tmp_path: Path) -> None:
    log = acid_log(sulphur=(0.0,) * 8)
    honest = titres(log)
    assert found(run(put(log, [*honest[:6], *honest[5:-1]]), tmp_path)) == []


@pytest.mark.parametrize(("factor", "word"), [(2.0, "twice"), (0.5, "half")])
def test_every_strength_wrong_shows_in_the_sulphur(tmp_path: Path, factor: float, word: str) -> None:
    (one,) = found(run(acid_log(strength=0.1 * factor), tmp_path))
    assert (one.code, one.severity, one.where) == ("concentration-slip", Severity.REVIEW, "Titration!C2")
    assert f"seems {word} the true strength" in one.message


def test_some_strengths_wrong_show_without_sulphur(tmp_path: Path) -> None:
    log = acid_log(sulphur=(0.0,) * 8)
    for row in log.rows["Titration"][4:9]:
        row["Concentration"] = 0.2
    (one,) = found(run(log, tmp_path))
    assert (one.code, one.where) == ("concentration-slip", "Titration!C6")
    assert "0.2 eq/L, used for firings 5, 6, 7, 8 and 9, seems twice" in one.message


def test_two_bottles_of_which_both_are_right(tmp_path: Path) -> None:
    log = acid_log(sulphur=(0.0,) * 8)
    for row in log.rows["Titration"][4:9]:
        row["Concentration"], row["Titre (mL)"] = 0.2, row["Titre (mL)"] / 2
    assert found(run(log, tmp_path)) == []


@pytest.mark.parametrize(("off", "hits"), [(0.29, 0), (0.60, 1), (-0.60, 1)])
def test_a_single_titre_out_of_line(tmp_path: Path, off: float, hits: int) -> None:
    # Median 0.50 mmol; deviations up to 0.10, their median 0.03: the robust SD is taken as 0.05, five are 0.25.
    log = acid_log()
    row = log.rows["Titration"][7]
    row["Titre (mL)"] = round(row["Titre (mL)"] + 10 * off, 2)
    made = found(run(log, tmp_path))
    assert [(one.code, one.severity, one.where) for one in made] == [
        ("titre-out-of-band", Severity.REVIEW, "Titration!G9")
    ] * hits
