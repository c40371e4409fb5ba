"""What the benches gave and what was typed on Setup, by hand.

C = 10 000 J/K, 60 J of ignition, no acid: a rise of 2.5 K is 24 940 J/g as analysed, with 4 % of moisture
25 979.2 J/g dry. The composition below, % dry, adds up to 100, and the general formula expects of it
349.1 x 63 + 1178.3 x 4.5 + 100.5 x 0.8 - 103.4 x 10.5 - 15.1 x 1.2 - 21.1 x 20 = 25 850.2 J/g.
"""

from pathlib import Path
from typing import Any

import pytest
from logbook import SINCE, Log, codes, plain_log, run, sample

from batchcal.findings import Finding, Severity
from batchcal.model import Evaluation
from batchcal.terms import Decision

DRY = {"Carbon (%)": 63.0, "Hydrogen (%)": 4.5, "Nitrogen (%)": 1.2, "Sulphur (%)": 0.8, "Oxygen (%)": 10.5,
       "Ash (%)": 20.0}  # fmt: skip
GROSS_DRY = 24940 / 0.96
OURS = {
    "chlorine-high", "sum-over-hundred", "sum-off", "hydrogen-holds-moisture", "composition-disagrees",
    "composition-disagrees-all", "fuel-class-unusual", "oxygen-too-little", "heat-unusual", "benzoic-value-suspect",
    "benzoic-lot-differs", "calorie-definition-suspect", "series-steps-alike", "hydrogen-same",
}  # fmt: skip


def only(evaluation: Evaluation, code: str) -> Finding:
    found = [finding for finding in evaluation.findings if finding.code == code]
    assert len(found) == 1, codes(evaluation)
    return found[0]


def ours(evaluation: Evaluation) -> set[str]:
    return OURS & set(codes(evaluation))


def coal(**changed: float | str | None) -> Log:
    """A pair of one sample with a full analysis on the dry basis."""
    log = plain_log(2.5, 2.5)
    log.rows["Samples"][0] |= {**DRY, "Basis": "d", "Fuel class": "coal"}
    headings = {name.partition(" (")[0].casefold().replace(" ", "_"): name for name in log.headings["Samples"]}
    log.rows["Samples"][0] |= {headings[name]: value for name, value in changed.items()}
    return log


def test_an_analysis_that_fits_gives_nothing(tmp_path: Path) -> None:
    assert not ours(run(coal(), tmp_path))
    assert not ours(run(coal(volatile_matter=30.0, carbon=None), tmp_path))


def test_moisture_ash_and_volatile_matter_over_a_hundred(tmp_path: Path) -> None:
    """Dry: 20 + 80.4 = 100.4; as analysed 4 + 0.96 x 100.4 = 100.384. With 80.2 it is 100.192, within rounding."""
    found = only(run(coal(volatile_matter=80.4), tmp_path), "sum-over-hundred")
    assert found.severity is Severity.REVIEW
    assert found.where == "Samples!L2"
    assert "moisture 4.00, ash 19.20 and volatile matter 77.18 add up to 100.38 %" in found.message
    assert "sum-over-hundred" not in codes(run(coal(volatile_matter=80.2), tmp_path))


@pytest.mark.parametrize(("oxygen", "total"), [(12.5, None), (12.7, "102.11"), (8.5, None), (8.3, "97.89")])
def test_a_full_analysis_that_does_not_add_up(tmp_path: Path, oxygen: float, total: str | None) -> None:
    """10.5 % of oxygen makes 100; 12.7 % makes 4 + 0.96 x 102.2 = 102.112 as analysed, 8.3 % makes 97.888."""
    evaluation = run(coal(oxygen=oxygen), tmp_path)
    assert ours(evaluation) == (set() if total is None else {"sum-off"})
    if total is not None:
        assert f"add up to {total} %" in only(evaluation, "sum-off").message
        assert sample(evaluation).decision is Decision.READY
        assert "sum-off" in {finding.code for finding in sample(evaluation).findings}


def test_chlorine_is_part_of_the_sum(tmp_path: Path) -> None:
    assert only(run(coal(chlorine=2.5), tmp_path), "sum-off").sample == "S1"


@pytest.mark.parametrize("oxygen", [10.5, 10.5 + 0.8881 * 4 / 0.96])
def test_moisture_in_hydrogen_and_perhaps_in_oxygen_that_is_said_to_be_there(tmp_path: Path, oxygen: float) -> None:
    log = coal(hydrogen_includes_moisture="yes", basis="ad")
    for name, value in DRY.items():
        log.rows["Samples"][0][name] = value * 0.96
    log.rows["Samples"][0] |= {"Hydrogen (%)": 4.32 + 0.1119 * 4, "Oxygen (%)": oxygen * 0.96}
    assert not ours(run(log, tmp_path))


@pytest.mark.parametrize(
    ("share", "fuel", "code"),
    [
        (1.0, "coal", None),
        (1.04, "coal", None),
        (1.06, "coal", "composition-disagrees"),  # 1.06 x 25 979.2 / 25 850.2 is 6.5 % over
        (0.93, "", "composition-disagrees"),
        (1.06, "straw", None),
        (1.09, "straw", "composition-disagrees"),
    ],
)
def test_a_value_out_of_keeping_with_its_composition(tmp_path: Path, share: float, fuel: str, code: str | None) -> None:
    log = coal(fuel_class=fuel or None)
    for row in log.rows["Runs"]:
        row["Temperature rise (K)"] = (24940 * share + 60) / 10000
    evaluation = run(log, tmp_path)
    assert ours(evaluation) == ({code} if code else set())
    if code:
        found = only(evaluation, code)
        assert f"{GROSS_DRY * share:.0f} J/g dry was found and 25850 J/g is expected" in found.message
        # Dulong: 80.8 x 63 + 345 x (4.5 - 1.3125) + 22.4 x 0.8 = 6208.0075 cal/g, told of coals only
        assert ("formula for coal gives 25992 J/g" in found.message) == (fuel == "coal")
        assert sample(evaluation).decision is Decision.READY


def test_a_pair_that_disagrees_is_not_held_against_its_composition(tmp_path: Path) -> None:
    log = coal()
    log.rows["Runs"][0]["Temperature rise (K)"] = 3.0
    assert not ours(run(log, tmp_path))


def many(count: int = 5, every: dict[str, Any] | None = None) -> Log:
    """Samples S1, S2, ... with 2, 4, ... % of moisture and the analysis above, given as analysed."""
    log = plain_log()
    log.rows["Samples"] = []
    for number in range(1, count + 1):
        moisture, part = 2.0 * number, 1 - 0.02 * number
        for letter in "AB":
            log.add("Runs", firing_no=f"{number}{letter}", sample_no=f"S{number}", sample_mass=1.0,
                    temperature_rise=(GROSS_DRY * part + 60) / 10000)  # fmt: skip
        row = log.add("Samples", sample_no=f"S{number}", moisture_analysis=moisture, basis="ad",
                      hydrogen_includes_moisture="no")  # fmt: skip
        row |= {name: value * part for name, value in DRY.items()} | (every or {})
    return log


def with_water(log: Log, *, by_difference: bool = False, share: float = 1.0) -> Log:
    """Put the hydrogen of the moisture into the hydrogen, and take it from an oxygen found by difference."""
    for row in log.rows["Samples"]:
        water = 0.1119 * share * row["Moisture, analysis (%)"]
        row["Hydrogen (%)"] += water
        row["Oxygen (%)"] -= water if by_difference else 0.0
    return log


@pytest.mark.parametrize("by_difference", [False, True])
def test_hydrogen_that_holds_that_of_the_moisture(tmp_path: Path, *, by_difference: bool) -> None:
    """One of S2's net values: (25 979.17 - 212.1 H - 0.775 O - 0.885 x 1.2) x 0.96 - 24.42 x 4 J/g."""
    evaluation = run(with_water(many(), by_difference=by_difference), tmp_path)
    found = only(evaluation, "hydrogen-holds-moisture")
    assert found.where == "Samples!I2"
    assert "of 5 samples" in found.message
    assert "by 1.00 times" in found.message
    assert ("over those found" in found.message) == by_difference
    water = 0.1119 * 4 / 0.96
    oxygen = 10.5 - (water if by_difference else 0.0)
    given, free = (
        (GROSS_DRY - 212.1 * hydrogen - 0.775 * oxygen - 0.885 * 1.2) * 0.96 - 24.42 * 4
        for hydrogen in (4.5 + water, 4.5)
    )
    assert f"S2 {given:.0f} and {free:.0f};" in found.message
    assert "as analysed" in found.message
    assert ours(evaluation) == {"hydrogen-holds-moisture"}
    assert all("hydrogen-holds-moisture" in {f.code for f in result.findings} for result in evaluation.samples)


def test_hydrogen_is_not_suspected_without_reason(tmp_path: Path) -> None:
    assert not ours(run(many(), tmp_path))
    assert not ours(run(with_water(many(3)), tmp_path))  # too few
    assert not ours(run(with_water(many(), share=0.3), tmp_path))  # the slope is that of something else
    biased = many()
    for row in biased.rows["Samples"]:
        row["Hydrogen (%)"] += 0.6  # all alike, however much moisture
    assert not ours(run(biased, tmp_path))
    said = with_water(many(5, {"Hydrogen includes moisture": "yes"}))
    assert not ours(run(said, tmp_path))


def test_one_hydrogen_for_many_fuels(tmp_path: Path) -> None:
    log = many(4, {"Hydrogen (%)": 4.52})
    found = only(run(log, tmp_path), "hydrogen-same")
    assert found.severity is Severity.NOTE
    assert "samples S1, S2, S3 and S4, of different fuels, have 4.52 % of hydrogen" in found.message
    assert "hydrogen-same" not in codes(run(many(3, {"Hydrogen (%)": 4.52}), tmp_path))
    alike = many(4, {"Hydrogen (%)": 4.52, "Ash (%)": 19.0, "Fuel class": "coal"})
    assert "hydrogen-same" not in codes(run(alike, tmp_path))
    # Given to a tenth, four of nine may be alike by chance.
    tenths = many(9)
    for number, row in enumerate(tenths.rows["Samples"]):
        row["Hydrogen (%)"] = 4.5 if number < 4 else 4.5 + 0.1 * (number - 3)
    assert "hydrogen-same" not in codes(run(tenths, tmp_path))


def test_most_samples_off_alike_make_one_finding(tmp_path: Path) -> None:
    log = many()
    log.setup["Effective heat capacity"] = (11000, "J/K", "own series", SINCE)
    found = only(run(log, tmp_path), "composition-disagrees-all")
    assert found.message.startswith("5 of 5 samples")
    assert "found is 1.106 to 1.106 times" in found.message  # (1.1 x 25 979.2 + 6) / 25 850.2


@pytest.mark.parametrize(
    ("limit", "basis", "chlorine", "found"),
    [
        (0.5, "ad", 0.51, "0.51"),
        (0.5, "ad", 0.50, None),
        (0.5, "d", 0.53, "0.509"),  # 0.53 x 0.96
        (0.5, "d", 0.52, None),
        (None, "ad", 3.0, None),
    ],
)
def test_chlorine_above_the_lab_s_own_limit(
    tmp_path: Path, limit: float | None, basis: str, chlorine: float, found: str | None
) -> None:
    log = plain_log(2.5, 2.5)
    if limit is not None:
        log.setup["Chlorine limit"] = (limit, "%", "instructions")
    log.rows["Samples"][0] |= {"Basis": basis, "Chlorine (%)": chlorine}
    evaluation = run(log, tmp_path)
    assert ours(evaluation) == ({"chlorine-high"} if found else set())
    if found:
        finding = only(evaluation, "chlorine-high")
        assert finding.severity is Severity.SAFETY
        assert f": {found} % of chlorine as analysed; the limit entered is 0.5 %" in finding.message


@pytest.mark.parametrize(
    ("fuel", "unusual"),
    [
        ("wood chips", True),
        ("Lignite", False),
        ("hard coal", True),
        ("sub-bituminous coal", False),
        ("Hard coal, washed", True),
        ("charcoal", False),
        ("coke of hard coal", False),
        ("torrefied wood", False),
        ("wood and plastic", False),
        ("wood / hard coal", False),
        ("heavy oil sludge", False),
        ("hard coal tar", False),
    ],
)
def test_a_value_outside_what_is_usual_for_the_class(tmp_path: Path, fuel: str, unusual: bool) -> None:
    """24 940 x 100 / (100 - 4 - 9) = 28 667 J/g dry ash-free: lignite's band, 10 % below hard coal's, over wood's."""
    log = plain_log(2.5, 2.5)
    log.rows["Samples"][0] |= {"Ash (%)": 9.0, "Basis": "ad", "Fuel class": fuel}
    assert ours(run(log, tmp_path)) == ({"fuel-class-unusual"} if unusual else set())


@pytest.mark.parametrize(("volume", "pressure", "share"), [(300, 3.0, None), (300, 1.5, "33"), (200, 2.0, "37"),
                                                            (None, 0.5, None)])  # fmt: skip
def test_oxygen_that_was_not_ample(tmp_path: Path, volume: float | None, pressure: float, share: str | None) -> None:
    """25 kJ / 13.1 = 1.908 g; at 25 °C 3 MPa and 300 mL hold 11.618 g, 1.5 MPa half of it: 32.9 %.

    2.6 K makes 26 kJ, 1.985 g, 34.2 % of it; 2 MPa in 200 mL hold 5.163 g.
    """
    log = plain_log(2.5, 2.5) if share != "33" else plain_log(2.55, 2.55)
    if volume is not None:
        log.setup["Bomb volume"] = (volume, "mL", "instructions")
    for row in log.rows["Runs"]:
        row["Oxygen pressure (MPa)"] = pressure
    found = [f for f in run(log, tmp_path).findings if f.code == "oxygen-too-little"]
    assert len(found) == (0 if share is None else 2)
    assert all(f"takes about {share} %" in f.message or share == "33" for f in found)
