"""The heat of an aid from firings with benzoic acid, by hand, and its use."""

from pathlib import Path

import pytest
from logbook import SINCE, Log, codes, firing, plain_log, run, sample

from batchcal.report.explain import explain
from batchcal.terms import Decision, FiringState

# C = 10 000 J/K, 60 J of ignition, 0.8 g of benzoic acid at 26 454 J/g = 21 163.2 J, 0.1 g of aid:
# a rise of 2.6 K is 26 000 - 60 - 21 163.2 = 4 776.8 J, 47 768 J/g
AID_RISES = {2.6: 47768.0, 2.602: 47968.0, 2.598: 47568.0}


def aid_log(*rises: float, entered: float | None = None) -> Log:
    log = plain_log(2.5, 2.501)
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


# --- several aids in one firing -------------------------------------------------------------------------------------

HEATS = {"oil": 46000, "tape": 31000, "strip": 45000}


def several(**extra: object) -> Log:
    """Two firings of S1, the first with more on its row, and a heat on Setup for each aid and for the capsule."""
    log = plain_log(2.5, 2.501)
    log.setup |= {f"Aid heat [{name}]": (heat, "J/g", "own") for name, heat in HEATS.items()}
    log.setup["Capsule heat [gelatine]"] = (19000, "J/g", "own")
    log.rows["Runs"][0] |= extra
    return log


def test_each_aid_and_the_capsule_bring_their_own_heat(tmp_path: Path) -> None:
    log = several(
        **{"Aid": "oil", "Aid mass (g)": 0.1, "Aid 2": "Tape", "Aid 2 mass (g)": 0.02, "Capsule mass (g)": 0.095}
    )
    found = firing(run(log, tmp_path), 1)
    # 0.1 x 46 000 + 0.02 x 31 000 + 0.095 x 19 000 = 4 600 + 620 + 1 805 = 7 025 J; 25 000 - 60 - 7 025
    assert found.aid_J == pytest.approx(7025, rel=1e-12)
    assert found.gross_ad_J_per_g == pytest.approx(17915, rel=1e-12)


def test_a_third_aid_is_read_by_the_same_rule(tmp_path: Path) -> None:
    log = several(
        **{"Aid": "oil", "Aid mass (g)": 0.05, "Aid 2": "tape", "Aid 2 mass (g)": 0.02, "Aid 3": "strip"},
        **{"Aid 3 mass (g)": 0.01},
    )
    evaluation = run(log, tmp_path)
    assert firing(evaluation, 1).aid_J == pytest.approx(2300 + 620 + 450, rel=1e-12)
    assert "column-not-read" not in codes(evaluation)


def test_a_second_aid_in_calibration_counts_too(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.setup |= {
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Aid heat [strip]": (45000, "J/g", "own"),
    }
    row = log.add("Calibration", firing_no=101, date=SINCE, sample_mass=1.0, temperature_rise=2.65)
    row |= {"Aid 2": "strip", "Aid 2 mass (g)": 0.01}
    # (26 454 + 60 + 450) / 2.65
    assert firing(run(log, tmp_path), 101).heat_capacity_J_per_K == pytest.approx(26964 / 2.65, rel=1e-12)


@pytest.mark.parametrize(
    ("row", "code", "heading"),
    [
        ({"Aid 2": "tape"}, "aid-incomplete", "Aid 2 mass (g)"),
        ({"Aid 2 mass (g)": 0.02, "Aid 2": None}, "aid-incomplete", "Aid 2"),
        ({"Aid 2": "glue", "Aid 2 mass (g)": 0.02}, "aid-heat-missing", "Aid 2"),
        ({"Aid 2": "OIL", "Aid 2 mass (g)": 0.02}, "aid-twice", "Aid 2"),
        ({"Aid 2": "tape", "Aid 2 mass (g)": -0.02}, "amount-negative", "Aid 2 mass (g)"),
        ({"Aid 2": "tape", "Aid 2 mass (g)": "0,02"}, "decimal-comma", "Aid 2 mass (g)"),
    ],
)
def test_a_second_aid_that_is_not_known_stops_its_firing(
    tmp_path: Path, row: dict[str, object], code: str, heading: str
) -> None:
    log = several(**{"Aid": "oil", "Aid mass (g)": 0.1, "Aid 2 mass (g)": None, "Aid 2": None})
    log.rows["Runs"][0] |= row
    evaluation = run(log, tmp_path)
    found = next(finding for finding in evaluation.findings if finding.code == code)
    # behind the 32 columns that every log has here
    assert found.cell == {"Aid 2": "AG2", "Aid 2 mass (g)": "AH2"}[heading]
    assert firing(evaluation, 1).state is FiringState.NOT_COMPUTED
    assert firing(evaluation, 1).gross_ad_J_per_g is None
    assert sample(evaluation).decision is Decision.HOLD


def test_neither_name_nor_mass_is_no_aid(tmp_path: Path) -> None:
    evaluation = run(several(**{"Aid 2": None, "Aid 2 mass (g)": 0.0}), tmp_path)
    assert firing(evaluation, 1).gross_ad_J_per_g == pytest.approx(24940, rel=1e-12)


@pytest.mark.parametrize(("limit", "over"), [(1.215, False), (1.2149, True)])
def test_the_mass_limit_counts_every_aid_and_the_capsule(tmp_path: Path, limit: float, over: bool) -> None:
    log = several(
        **{"Aid": "oil", "Aid mass (g)": 0.1, "Aid 2": "tape", "Aid 2 mass (g)": 0.02, "Capsule mass (g)": 0.095}
    )
    log.setup["Maximum sample mass"] = (limit, "g", "instructions")  # 1 + 0.1 + 0.02 + 0.095
    assert ("charge-mass-over" in codes(run(log, tmp_path))) is over


def test_the_energy_limit_counts_what_the_aids_gave(tmp_path: Path) -> None:
    log = several(**{"Aid": "oil", "Aid mass (g)": 0.1, "Aid 2": "tape", "Aid 2 mass (g)": 0.02})
    log.setup["Maximum charge energy"] = (24.9, "kJ", "instructions")  # 10 000 x 2.5 = 25 kJ, 19.72 of them the fuel's
    assert "charge-energy-over" in codes(run(log, tmp_path))


@pytest.mark.parametrize(("tape_g", "said"), [(0.06, ["51 %"]), (0.02, [])])
def test_the_share_is_that_of_all_aids_together(tmp_path: Path, tape_g: float, said: list[str]) -> None:
    # 0.2 x 46 000 + 0.095 x 19 000 = 11 005 J; with 0.06 x 31 000 = 1 860 it is 12 865 of 25 000, 51.5 %; else 46.5 %
    log = several(
        **{"Aid": "oil", "Aid mass (g)": 0.2, "Aid 2": "tape", "Aid 2 mass (g)": tape_g, "Capsule mass (g)": 0.095}
    )
    high = [finding for finding in run(log, tmp_path).findings if finding.code == "aid-share-high"]
    assert [finding.severity for finding in high] == ["review"] * len(said)
    assert all(share in finding.message for share, finding in zip(said, high, strict=True))


# --- what an aid firing finds where several burnt -------------------------------------------------------------------


def with_tape(log: Log, *rises: float, first: int = 21) -> Log:
    """Aid firings with 0.8 g of benzoic acid, 0.1 g of oil and 0.02 g of tape."""
    for number, rise in enumerate(rises, first):
        row = log.add(
            "Runs", firing_no=number, purpose="aid", sample_mass=0.8, aid="oil", aid_mass=0.1, temperature_rise=rise
        )
        row |= {"Aid 2": "tape", "Aid 2 mass (g)": 0.02}
    return log


def tape_used(log: Log) -> Log:
    for row in log.rows["Runs"][:2]:
        row |= {"Aid": "tape", "Aid mass (g)": 0.02}
    return log


def test_the_one_unknown_aid_is_found_beside_a_known_one(tmp_path: Path) -> None:
    # 26 443.2 - 60 - 0.8 x 26 454 - 0.1 x 46 000 = 620 J of 0.02 g: 31 000 J/g
    evaluation = run(tape_used(with_tape(aid_log(entered=46000), 2.64432, 2.64430, 2.64434)), tmp_path)
    assert evaluation.settings.aid_heats["tape"].value == pytest.approx(31000, rel=1e-9)
    assert firing(evaluation, 21).aid_J == pytest.approx(5220, rel=1e-9)
    assert firing(evaluation, 1).aid_J == pytest.approx(620, rel=1e-9)
    assert sample(evaluation).decision is Decision.READY


def test_the_known_one_may_itself_be_found_in_the_same_workbook(tmp_path: Path) -> None:
    # oil 47 768 J/g from its own firings: 26 000 - 60 - 21 163.2 - 4 776.8 = 0 at 2.6 K; 0.062 K more are 620 J
    evaluation = run(tape_used(with_tape(aid_log(*AID_RISES), 2.662, 2.6618, 2.6622)), tmp_path)
    assert evaluation.settings.aid_heats["oil"].value == pytest.approx(47768, rel=1e-12)
    assert evaluation.settings.aid_heats["tape"].value == pytest.approx(31000, rel=1e-9)
    found = [finding.message for finding in evaluation.findings if finding.code == "aid-heat-found"]
    assert len(found) == 2


def test_the_capsule_in_an_aid_firing_is_no_heat_of_the_aid(tmp_path: Path) -> None:
    log = aid_log(*AID_RISES)
    log.setup["Capsule heat [gelatine]"] = (19000, "J/g", "own")
    for row in log.rows["Runs"][2:]:
        row["Capsule mass (g)"] = 0.095  # 1 805 J of the 4 776.8 J
    evaluation = run(log, tmp_path)
    assert evaluation.settings.aid_heats["oil"].value == pytest.approx(29718, rel=1e-12)
    assert firing(evaluation, 11).aid_J == pytest.approx(4776.8, rel=1e-12)


def test_two_unknown_aids_find_nothing(tmp_path: Path) -> None:
    log = tape_used(with_tape(aid_log(), 2.64432, 2.64430, 2.64434))
    evaluation = run(log, tmp_path)
    unclear = [finding for finding in evaluation.findings if finding.code == "aid-firing-unclear"]
    assert [finding.severity for finding in unclear] == ["block"] * 3
    assert "oil, tape are" in unclear[0].message
    assert firing(evaluation, 21).state is FiringState.NOT_COMPUTED
    assert not evaluation.settings.aid_heats
    assert sample(evaluation).decision is Decision.HOLD


def test_where_all_are_known_there_is_nothing_to_find(tmp_path: Path) -> None:
    log = tape_used(with_tape(aid_log(entered=46000), 2.64432))
    log.setup["Aid heat [tape]"] = (31000, "J/g", "own")
    evaluation = run(log, tmp_path)
    unclear = next(finding for finding in evaluation.findings if finding.code == "aid-firing-unclear")
    assert unclear.severity == "review"
    assert sample(evaluation).decision is Decision.READY


@pytest.mark.parametrize(
    ("row", "cell"),
    [({"Aid": None, "Aid mass (g)": None}, "U4"), ({"Aid mass (g)": None}, "V4"), ({"Aid mass (g)": 0}, "V4"),
     ({"Aid": None}, "U4")],
)  # fmt: skip
def test_an_aid_firing_needs_an_aid_with_a_mass(tmp_path: Path, row: dict[str, object], cell: str) -> None:
    log = aid_log(*AID_RISES)
    log.rows["Runs"][2] |= row
    evaluation = run(log, tmp_path)
    assert next(finding for finding in evaluation.findings if finding.code == "aid-incomplete").cell == cell
    assert firing(evaluation, 11).state is FiringState.NOT_COMPUTED


def test_a_heat_that_no_aid_has_is_not_taken(tmp_path: Path) -> None:
    evaluation = run(aid_log(*AID_RISES, 2.0), tmp_path)  # 20 000 - 60 - 21 163.2 is below zero
    assert "gross-unfit" in codes(evaluation)
    assert firing(evaluation, 14).state is FiringState.NOT_COMPUTED
    assert evaluation.settings.aid_heats["oil"].value == pytest.approx(47768, rel=1e-12)


# --- the working shows each of them ----------------------------------------------------------------------------------


def test_the_working_has_a_line_for_each_aid(tmp_path: Path) -> None:
    log = several(
        **{"Aid": "oil", "Aid mass (g)": 0.1, "Aid 2": "tape", "Aid 2 mass (g)": 0.02, "Capsule mass (g)": 0.095}
    )
    text = " ".join("\n".join(explain(run(log, tmp_path), "1") or ()).split())
    for line in (
        "aid oil 0.1000 g x 46000 J/g [Aid heat [oil]: 46000 J/g; own;",
        "aid tape 0.0200 g x 31000 J/g",
        "capsule 0.0950 g x 19000 J/g",
        "aids together 7025.00 J",
    ):
        assert line in text


def test_the_working_of_an_aid_firing_ends_in_the_heat_of_its_aid(tmp_path: Path) -> None:
    evaluation = run(with_tape(aid_log(entered=46000), 2.64432), tmp_path)
    text = " ".join("\n".join(explain(evaluation, "21") or ()).split())
    for line in (
        "aid oil 0.1000 g x 46000 J/g",
        "benzoic acid 0.8000 g x 26454.0000 J/g = 21163.20 J",
        "aids together 26443.20 - 60.00 - 0.00 - 21163.20 = 5220.00 J",
        "aid tape (5220.00 - 4600.00) / 0.0200 = 31000.00 J/g, found in this firing",
    ):
        assert line in text
