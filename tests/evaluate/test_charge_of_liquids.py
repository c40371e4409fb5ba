"""Liquids and capsules by hand: weighed straight in, in a capsule with or without it in the tare, with aids."""

from pathlib import Path
from typing import Any

import pytest
from logbook import Log, codes, firing, plain_log, run, sample

from batchcal.model import Evaluation
from batchcal.report.explain import explain
from batchcal.terms import Decision, FiringState


def capsule_log(**row: Any) -> Log:
    """Two firings of S1; the first has its capsule of gelatine, at 19 000 J/g, and what ``row`` says."""
    log = plain_log(2.5, 2.501)
    log.setup["Capsule heat [gelatine]"] = (19000, "J/g", "own")
    log.rows["Runs"][0] |= {"Sample mass (g)": None, **row}
    return log


def weighed(tare: float, gross: float, in_tare: str | None, capsule: float = 0.095, **more: Any) -> Log:
    return capsule_log(
        **{"Crucible (g)": tare, "Crucible + sample (g)": gross, "Capsule mass (g)": capsule},
        **{"Capsule in tare": in_tare, **more},
    )


def test_a_heavy_oil_is_weighed_straight_into_the_crucible(tmp_path: Path) -> None:
    log = plain_log(2.8, 2.801)
    for row, gross in zip(log.rows["Runs"], (12.6543, 12.6543), strict=True):
        row |= {"Sample mass (g)": None, "Crucible (g)": 12.0, "Crucible + sample (g)": gross}
    evaluation = run(log, tmp_path)
    # (28 000 - 60) / 0.6543 = 42 702.1
    assert firing(evaluation, 1).gross_ad_J_per_g == pytest.approx(27940 / 0.6543, rel=1e-10)
    assert firing(evaluation, 1).aid_J == 0
    assert sample(evaluation).decision is Decision.READY


@pytest.mark.parametrize(
    ("tare", "gross", "in_tare"),
    [(12.095, 12.645, "yes"), (12.0, 12.645, "no")],  # 0.5500 g of liquid either way
)
def test_a_volatile_liquid_in_a_weighed_capsule(tmp_path: Path, tare: float, gross: float, in_tare: str) -> None:
    found = firing(run(weighed(tare, gross, in_tare), tmp_path), 1)
    assert found.mass_g == pytest.approx(0.55, rel=1e-9)
    # (25 000 - 60 - 0.095 x 19 000) / 0.55 = 23 135 / 0.55
    assert found.gross_ad_J_per_g == pytest.approx(23135 / 0.55, rel=1e-9)


@pytest.mark.parametrize(("in_tare", "said"), [(None, ["review"]), ("yes", [])])
def test_where_it_is_not_said_the_capsule_is_taken_as_tared_and_that_is_said(
    tmp_path: Path, in_tare: str | None, said: list[str]
) -> None:
    evaluation = run(weighed(12.095, 12.645, in_tare), tmp_path)
    found = [finding for finding in evaluation.findings if finding.code == "capsule-taken-as-tared"]
    assert [finding.severity for finding in found] == said
    assert firing(evaluation, 1).gross_ad_J_per_g == pytest.approx(23135 / 0.55, rel=1e-9)


@pytest.mark.parametrize("word", ["perhaps", 1])
def test_a_word_that_is_neither_yes_nor_no_stops_the_firing(tmp_path: Path, word: Any) -> None:
    evaluation = run(weighed(12.0, 12.645, word), tmp_path)
    assert firing(evaluation, 1).state is FiringState.NOT_COMPUTED


@pytest.mark.parametrize(
    ("typed", "in_tare", "agrees"),
    [
        (0.55, None, True),  # 0.645 less the capsule
        (0.645, None, True),  # the capsule was in the tare
        (0.60, None, False),
        (0.55, "no", True),
        (0.55, "yes", False),
        (0.645, "no", False),
    ],
)
def test_a_typed_mass_must_agree_with_the_weighings(
    tmp_path: Path, typed: float, in_tare: str | None, agrees: bool
) -> None:
    evaluation = run(weighed(12.0, 12.645, in_tare, **{"Sample mass (g)": typed}), tmp_path)
    assert ("mass-disagrees" not in codes(evaluation)) is agrees
    if agrees:
        assert firing(evaluation, 1).mass_g == typed


@pytest.mark.parametrize(("limit", "over"), [(0.645, False), (0.6449, True)])
def test_the_mass_limit_counts_the_capsule_once(tmp_path: Path, limit: float, over: bool) -> None:
    log = weighed(12.0, 12.645, "no")
    log.rows["Runs"][1]["Sample mass (g)"] = 0.55
    log.setup["Maximum sample mass"] = (limit, "g", "instructions")
    assert ("charge-mass-over" in codes(run(log, tmp_path))) is over


def test_the_working_shows_the_capsule_taken_off(tmp_path: Path) -> None:
    text = "\n".join(explain(run(weighed(12.0, 12.645, "no"), tmp_path), "1") or ())
    assert "12.6450 - 12.0000 - 0.0950 = 0.5500 g" in text


def test_a_capsule_of_another_kind_is_entered_as_an_aid(tmp_path: Path) -> None:
    log = capsule_log(**{"Sample mass (g)": 0.55, "Capsule mass (g)": 0.095})
    log.setup["Capsule heat [polyethylene]"] = (46000, "J/g", "own")
    assert "capsule-unclear" in codes(run(log, tmp_path))
    log.setup["Aid heat [polyethylene capsule]"] = log.setup.pop("Capsule heat [polyethylene]")
    log.rows["Runs"][1] |= {"Aid": "polyethylene capsule", "Aid mass (g)": 0.05}
    evaluation = run(log, tmp_path)
    assert (firing(evaluation, 1).aid_J, firing(evaluation, 2).aid_J) == pytest.approx((1805, 2300), rel=1e-12)


def published(log: Log, folder: Path) -> Evaluation:
    log.setup |= {
        "Acid scheme": ("fixed",),
        "Nitric acid heat": (15, "J", "own"),
        # 94.1 J for 1 % of sulphur in 1 g is 9 410 J/g of sulphur, times 32.06 g/mol
        "Sulphuric acid heat": (9410 * 32.06 / 1e3, "kJ/mol", "own"),
        "Fixed ignition heat": (55, "J", "own"),
    }
    log.rows["Samples"][0] |= {"Sulphur (%)": 0.1, "Basis": "ad"}
    for row in log.rows["Runs"]:
        row |= {"Temperature rise (K)": 2.6}
    return run(log, folder)


@pytest.mark.parametrize("mass", ["typed", "tared", "apart"])
def test_the_capsule_of_the_check_values_through_a_workbook(tmp_path: Path, mass: str) -> None:
    # The case capsule-liquid of the shipped check values, whose numbers were made up for it:
    # (10 000 x 2.6 - 55 - 0.095 x 19 000 - 15 - 94.1 x 0.1 x 0.55) / 0.55 = 43 854.2
    log = {
        "typed": capsule_log(**{"Sample mass (g)": 0.55, "Capsule mass (g)": 0.095}),
        "tared": weighed(12.095, 12.645, "yes"),
        "apart": weighed(12.0, 12.645, "no"),
    }[mass]
    found = firing(published(log, tmp_path), 1)
    assert (found.aid_J, found.nitric_J, found.sulphuric_J) == pytest.approx((1805, 15, 5.1755), rel=1e-9)
    assert found.gross_ad_J_per_g == pytest.approx(43854.2, abs=0.3)
