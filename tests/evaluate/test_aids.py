"""The heat of an aid from firings with benzoic acid, by hand, and its use."""

from pathlib import Path

import pytest
from logbook import Log, codes, firing, plain_log, run, sample

from batchcal.terms import Decision, FiringState

# C = 10 000 J/K, 60 J of ignition, 0.8 g of benzoic acid at 26 454 J/g = 21 163.2 J, 0.1 g of aid:
# a rise of 2.6 K is 26 000 - 60 - 21 163.2 = 4 776.8 J, 47 768 J/g
AID_RISES = {2.6: 47768.0, 2.602: 47968.0, 2.598: 47568.0}


def aid_log(*rises: float, entered: float | None = None) -> Log:
    log = plain_log(2.5, 2.5)
    log.setup["Benzoic acid heat of combustion"] = (26454, "J/g", "certificate")
    log.setup["Benzoic acid mass basis"] = ("air",)
    if entered:
        log.setup["Aid heat [oil]"] = (entered, "J/g", "own")
    for number, rise in enumerate(rises, 11):
        log.add(
            "Runs", firing_no=number, purpose="aid", sample_mass=0.8, aid="oil", aid_mass=0.1, temperature_rise=rise
        )
    for row in log.rows["Runs"][:2]:
        row |= {"Aid": "Oil", "Aid mass (g)": 0.1}
    return log


def test_the_heat_is_found_and_used(tmp_path: Path) -> None:
    evaluation = run(aid_log(*AID_RISES), tmp_path)
    found = evaluation.settings.aid_heats["oil"]
    assert found.value == pytest.approx(sum(AID_RISES.values()) / 3, rel=1e-12)
    assert "3 aid firings" in found.source
    # 25 000 - 60 - 0.1 x 47 768 = 20 163.2
    assert firing(evaluation, 1).gross_ad_J_per_g == pytest.approx(20163.2, rel=1e-12)
    assert firing(evaluation, 11).state is FiringState.USED
    assert sample(evaluation).decision is Decision.READY
    said = next(finding for finding in evaluation.findings if finding.code == "aid-heat-found")
    assert "SD 200 J/g" in said.message  # of 47 568, 47 768, 47 968


def test_two_firings_make_no_heat(tmp_path: Path) -> None:
    evaluation = run(aid_log(2.6, 2.602), tmp_path)
    assert "aid-too-few" in codes(evaluation)
    assert firing(evaluation, 1).gross_ad_J_per_g is None
    assert sample(evaluation).decision is Decision.HOLD


def test_what_stands_on_setup_goes_first(tmp_path: Path) -> None:
    evaluation = run(aid_log(*AID_RISES, entered=46000), tmp_path)
    assert "aid-heat-twice" in codes(evaluation)
    assert firing(evaluation, 1).aid_J == pytest.approx(4600)


def test_a_large_share_is_said(tmp_path: Path) -> None:
    log = aid_log(entered=46000)
    for row in log.rows["Runs"][:2]:
        row["Aid mass (g)"] = 0.3  # 13.8 of 25 kJ
    evaluation = run(log, tmp_path)
    assert "55 %" in next(f for f in evaluation.findings if f.code == "aid-share-high").message
