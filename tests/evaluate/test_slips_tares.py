"""Tares of another crucible and capsules in the sample mass, by hand.

C = 10 000 J/K, 60 J of ignition: a rise of 2.506 K on 1.0000 g is 25 060 - 60 = 25 000 J/g.
"""

from pathlib import Path

import pytest
from logbook import Log, plain_log, run

from batchcal.findings import Finding, Severity

CODES = {"tare-strange", "tare-of-another-crucible", "capsule-not-subtracted"}


def weighed(*tares: float, first_rise: float = 2.506, names: str = "") -> Log:
    """Firings of 1.0000 g, two of a sample, each with its tare."""
    log = plain_log()
    log.rows["Samples"] = []
    for index, tare in enumerate(tares):
        sample = f"S{index // 2 + 1}"
        if index % 2 == 0:
            log.add("Samples", sample_no=sample, moisture_analysis=4.0)
        row = log.add(
            "Runs", firing_no=index + 1, sample_no=sample, temperature_rise=2.506 if index else first_rise,
        )  # fmt: skip
        row["Crucible (g)"] = tare
        row["Crucible + sample (g)"] = round(tare + 1.0, 4)
        if names:
            row["Crucible no."] = names[index]
    return log


def found(log: Log, folder: Path) -> list[Finding]:
    return [finding for finding in run(log, folder).findings if finding.code in CODES]


TARES = (10.4491, 10.9342, 10.4493, 10.9341, 11.2003, 11.2005, 10.4490, 10.9343)


def test_honest_tares(tmp_path: Path) -> None:
    assert found(weighed(*TARES), tmp_path) == []
    assert found(weighed(*TARES, names="12123312"), tmp_path) == []


def test_the_tare_of_another_crucible_without_numbers(tmp_path: Path) -> None:
    log = weighed(*TARES)
    # Firing 1 was in the first crucible and has the tare of the second: 11.4491 - 10.9342 = 0.5149 g, 48 553 J/g.
    log.rows["Runs"][0]["Crucible (g)"] = 10.9342
    (one,) = found(log, tmp_path)
    assert (one.code, one.severity, one.where) == ("tare-of-another-crucible", Severity.REVIEW, "Runs!N2")
    assert "10.4491 g, as in 2 other rows, and not 10.9342 g" in one.message  # the median of 10.4490 and 10.4493
    # Seen nowhere else, no tare is usual.
    log = weighed(*TARES[:2], *TARES[4:6])
    log.rows["Runs"][0]["Crucible (g)"] = 10.9342
    assert found(log, tmp_path) == []


def test_a_tare_that_explains_nothing_is_not_named(tmp_path: Path) -> None:
    assert found(weighed(*TARES, first_rise=2.606), tmp_path) == []


@pytest.mark.parametrize(("tare", "fits"), [(10.9342, "; crucible 2 would fit"), (10.4600, "")])
def test_a_numbered_crucible(tmp_path: Path, tare: float, fits: str) -> None:
    names = "12123312"
    log = weighed(*TARES, 11.2004, 10.9340, names=names + "32")
    row = log.rows["Runs"][0]
    row["Crucible (g)"], row["Crucible + sample (g)"] = tare, round(tare + 1, 4)
    (one,) = found(log, tmp_path)
    assert (one.code, one.severity, one.where) == ("tare-strange", Severity.REVIEW, "Runs!N2")
    assert f"crucible 1 weighed {tare:.4f} g; its other tares lie at 10.4493 g{fits}." in one.message


def test_five_milligrams_are_not_strange(tmp_path: Path) -> None:
    log = weighed(*TARES, 10.4492 + 0.0049, 10.9342, names="1212331212")
    assert found(log, tmp_path) == []


@pytest.mark.parametrize(("mass", "hits"), [(1.12, ["Runs!P2"]), (1.06, [])])
def test_a_capsule_in_the_sample_mass(tmp_path: Path, mass: float, hits: list[str]) -> None:
    # 1 g and a capsule of 0.12 g (18 000 J/g): 27 220 J, less 60 and 2 160 J, is 25 000 J/g; with 1.12 g 22 321 J/g.
    log = plain_log(2.722, 2.722)
    log.setup["Capsule heat [capsule]"] = (18000, "J/g", "own")
    for row in log.rows["Runs"]:
        row["Capsule mass (g)"] = 0.12
    log.rows["Runs"][0]["Sample mass (g)"] = mass
    assert [one.where for one in found(log, tmp_path) if one.code == "capsule-not-subtracted"] == hits
