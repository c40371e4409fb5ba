"""What is a habit of a laboratory and what is a slip, by hand: C = 10 000 J/K, 60 J of ignition, 1 g, limit 120 J/g."""

import datetime as dt
import math
import random
from pathlib import Path
from typing import Any

import pytest
from logbook import DAY, Log, codes, firing, plain_log, run, sample
from scipy.stats import norm  # type: ignore[import-untyped]

from batchcal.evaluate import wording
from batchcal.evaluate.slips.coincidence import chance, step_of
from batchcal.findings import Finding
from batchcal.model import Evaluation
from batchcal.terms import Basis, Decision, FiringState


def found(evaluation: Evaluation, code: str) -> list[Finding]:
    return [finding for finding in evaluation.findings if finding.code == code]


# --- moistures ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("analysis", "total", "uncertainty", "code"),
    [
        (0.5, 0.5, None, None),
        (0.5, 0.4, None, "moistures-near"),
        (0.5, 0.2, None, "moistures-near"),  # by 0.3 %, the usual tolerance
        (0.5, 0.19, None, "moistures-exchanged"),
        (0.5, 0.25, 0.1, "moistures-near"),  # 2 x sqrt 2 x 0.1 = 0.283
        (0.5, 0.21, 0.1, "moistures-exchanged"),
        (0.5, 0.1, 0.15, "moistures-near"),  # 2 x sqrt 2 x 0.15 = 0.424
    ],
)
def test_total_moisture_below_analysis_moisture(
    tmp_path: Path, analysis: float, total: float, uncertainty: float | None, code: str | None
) -> None:
    log = plain_log(2.5, 2.5)
    log.setup["Bases required"] = ("ad, d, ar",)
    if uncertainty is not None:
        log.setup["Moisture standard uncertainty"] = (uncertainty, "%", "own")
    log.rows["Samples"][0] |= {"Moisture, analysis (%)": analysis, "Moisture, total (%)": total}
    evaluation = run(log, tmp_path)
    assert [c for c in codes(evaluation) if c.startswith("moistures-")] == ([code] if code else [])
    result = sample(evaluation)
    if code == "moistures-exchanged":
        assert result.decision is Decision.HOLD
        assert result.gross_J_per_g[Basis.AS_RECEIVED] is None
    else:
        assert result.decision is Decision.READY
        # 24 940 x (100 - total) / (100 - analysis)
        expected = 24940 * (100 - total) / (100 - analysis)
        assert result.gross_J_per_g[Basis.AS_RECEIVED] == pytest.approx(expected, rel=1e-12)


def test_the_tolerance_names_where_it_comes_from(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.rows["Samples"][0] |= {"Moisture, analysis (%)": 0.5, "Moisture, total (%)": 0.4}
    (one,) = found(run(log, tmp_path), "moistures-near")
    assert one.severity == "review"
    assert "0.3 % that two determinations may differ (common practice, no source)" in one.message


# --- differences typed more coarsely --------------------------------------------------------------------------------


def weighed(*typed: float, by: float = 1.00034) -> Log:
    """Firings whose weighings differ by 1.0003, 1.0004 ... g, with these typed masses beside them."""
    log = plain_log()
    for number, mass in enumerate(typed, 1):
        log.add("Runs", firing_no=number, sample_no="S1", sample_mass=mass, crucible=11.5,
                crucible_and_sample=round(12.5 + number / 10000, 4), temperature_rise=2.5)  # fmt: skip
    return log


def test_net_masses_typed_to_a_milligram_are_a_habit(tmp_path: Path) -> None:
    """Weighings 1.0001 to 1.0004 g, typed 1.000: 0.4 mg apart at the most, all by rounding. The weighings are used."""
    evaluation = run(weighed(1.0, 1.0, 1.0, 1.0), tmp_path)
    (one,) = found(evaluation, "difference-rounded")
    assert (one.severity, one.where) == ("review", "Runs!P2")
    assert "is typed to 1 mg in 4 of 4 rows" in one.message
    assert "mass-disagrees" not in codes(evaluation)
    assert [f.mass_g for f in evaluation.firings] == pytest.approx([1.0001, 1.0002, 1.0003, 1.0004], rel=1e-12)


def test_a_difference_that_rounding_does_not_explain_is_stopped(tmp_path: Path) -> None:
    log = weighed(1.0, 1.0, 1.0, 1.0, 1.0, 1.01)
    evaluation = run(log, tmp_path)
    assert len(found(evaluation, "difference-rounded")) == 1
    (one,) = found(evaluation, "mass-disagrees")
    assert one.firing == "6"
    assert firing(evaluation, 6).state is FiringState.NOT_COMPUTED


@pytest.mark.parametrize("typed", [(1.0, 1.0), (1.0001, 1.0002, 1.0, 1.0005), (1.0, 1.0002, 1.0003, 1.0009, 1.0005)])
def test_a_few_masses_or_fine_ones_are_no_habit(tmp_path: Path, typed: tuple[float, ...]) -> None:
    evaluation = run(weighed(*typed), tmp_path)
    assert "difference-rounded" not in codes(evaluation)
    assert ("mass-disagrees" in codes(evaluation)) == any(
        abs(mass - 1 - number / 10000) > 0.00015 for number, mass in enumerate(typed, 1)
    )


def read(rises: tuple[float, ...], typed: tuple[float, ...]) -> Log:
    log = plain_log()
    log.setup["Reading resolution"] = (0.001, "K", "certificate")
    for number, (rise, text) in enumerate(zip(rises, typed, strict=True), 1):
        log.add("Runs", firing_no=number, sample_no="S1", sample_mass=1.0, initial_temperature=22.0,
                final_temperature=round(22.0 + rise, 3), temperature_rise=text)  # fmt: skip
    return log


def test_rises_typed_to_a_hundredth_are_a_habit(tmp_path: Path) -> None:
    evaluation = run(read((2.503, 2.498, 2.496, 2.502), (2.5, 2.5, 2.5, 2.5)), tmp_path)
    (one,) = found(evaluation, "difference-rounded")
    assert "is typed to 0.01 K in 4 of 4 rows, coarser than the two temperatures beside it" in one.message
    assert [f.rise_K for f in evaluation.firings] == pytest.approx([2.503, 2.498, 2.496, 2.502], rel=1e-12)
    assert "rise-disagrees" in codes(run(read((2.503, 2.498, 2.496, 2.502), (2.5, 2.5, 2.5, 2.53)), tmp_path))


def test_a_capsule_stays_where_the_typed_mass_put_it(tmp_path: Path) -> None:
    """The second weighing holds 0.12 g of capsule; it is not said, and the typed 1.000 g fit only without it."""
    log = weighed(1.0, 1.0, 1.0, 1.0)
    log.setup["Capsule heat [gelatine]"] = (18000, "J/g", "own")
    for row in log.rows["Runs"]:
        row["Capsule mass (g)"] = 0.12
        row["Crucible + sample (g)"] = round(row["Crucible + sample (g)"] + 0.12, 4)
    evaluation = run(log, tmp_path)
    assert len(found(evaluation, "difference-rounded")) == 1
    assert [f.mass_g for f in evaluation.firings] == pytest.approx([1.0001, 1.0002, 1.0003, 1.0004], rel=1e-12)


# --- coincidences ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("sd", "step"), [(0.1, 0.01), (0.02, 0.01), (0.15, 0.001)])
def test_the_rate_of_equal_readings_is_that_of_rounded_normals(sd: float, step: float) -> None:
    """Two normal readings rounded to a step are equal with the probability that scipy's distribution gives."""
    edges = [(k - 0.5) * step for k in range(math.floor(-8 * sd / step), math.ceil(8 * sd / step) + 2)]
    shares = [
        high - low for low, high in zip(norm.cdf(edges[:-1], scale=sd), norm.cdf(edges[1:], scale=sd), strict=True)
    ]
    expected = math.fsum(share * share for share in shares)
    rng = random.Random(1)
    values = [round(rng.gauss(0, sd) / step) * step for _ in range(400)]
    apart = sorted(abs(a - b) for i, a in enumerate(values) for b in values[i + 1 : i + 12])
    assert chance(apart, step, 1.0) == pytest.approx(expected, rel=0.15)


def test_the_rate_of_a_set_figure_and_of_few(tmp_path: Path) -> None:
    assert chance([0.0] * 30, 0.001, 0.2) == 1.0
    assert chance([0.0, 0.5, 0.6], 0.001, 0.2) == pytest.approx(0.001 / 0.2 / 4)
    assert chance([0.0, *[0.5] * 20], 0.001, 0.2, without=1) == pytest.approx(1 / 1001)


@pytest.mark.parametrize(
    ("values", "step"),
    [
        ([22.01, 22.3, 24.55], 0.01),
        ([1.0012, 0.98], 0.0001),
        ([22.005 + 0.005 * n for n in range(12)], 0.005),
        ([22.002 + 0.002 * n for n in range(12)], 0.002),
        ([], None),
    ],
)
def test_the_step_in_which_figures_stand(values: list[float], step: float | None) -> None:
    assert step_of(values) == (None if step is None else pytest.approx(step))


def brought_to(start: float | None, *, agree: bool) -> Log:
    """Eight samples fired twice, started at one temperature or at some thousandths from it."""
    log = plain_log()
    log.rows["Samples"] = []
    rng = random.Random(7)
    for number in range(1, 17):
        begin = start if start is not None else round(22.0 + rng.gauss(0, 0.2), 3)
        rise = 2.5 + 0.0011 * number + (0.02 if number == 10 and not agree else 0.0)
        mass = round((1e4 * rise - 60) / 25000 + (0.0001 if number % 3 else 0.0), 4)
        name = f"S{(number + 1) // 2}"
        log.add("Runs", firing_no=number, sample_no=name, sample_mass=mass if number != 10 else 1.0,
                initial_temperature=begin, final_temperature=round(begin + rise, 3))  # fmt: skip
        if number % 2:
            log.add("Samples", sample_no=name, moisture_analysis=4.0)
    return log


def test_water_brought_to_one_temperature_is_no_copy(tmp_path: Path) -> None:
    """A pair that disagrees, in a log where each firing starts at 22.000 °C, and in one where a start is copied."""
    set_start = run(brought_to(22.0, agree=False), tmp_path)
    assert "pair-apart" in codes(set_start)
    assert not {"start-copied", "rows-alike"} & set(codes(set_start))
    copied = brought_to(None, agree=False)
    row, before = copied.rows["Runs"][9], copied.rows["Runs"][8]
    rise = row["Final temperature (°C)"] - row["Initial temperature (°C)"]
    row["Initial temperature (°C)"] = before["Initial temperature (°C)"]
    row["Final temperature (°C)"] = round(before["Initial temperature (°C)"] + rise, 3)
    assert [finding.firing for finding in found(run(copied, tmp_path), "start-copied")] == ["10"]


def test_two_figures_that_are_equal_in_every_row_say_nothing(tmp_path: Path) -> None:
    log = plain_log()
    for number in range(1, 9):
        log.add("Runs", firing_no=number, sample_no=f"T{number // 2}", sample_mass=1.0012, initial_temperature=22.015,
                final_temperature=24.516 + number / 1000)  # fmt: skip
    assert "rows-alike" not in codes(run(log, tmp_path))


# --- nitrogen -------------------------------------------------------------------------------------------------------

NITRIC = (0.50, 0.45, 0.55, 0.40, 0.60, 0.52, 0.48, 0.50, 0.43, 0.57, 0.51, 0.49, 0.54, 0.46, 0.50, 0.47)


def titrated(extra: dict[int, float], nitrogen: float | None, order: str = "pairs") -> Log:
    """Eight samples without sulphur fired twice; ``extra`` mmol of acid in both portions of some samples."""
    log = plain_log()
    log.setup |= {"Acid scheme": ("total as nitric",), "Nitric acid heat": (60, "kJ/mol", "own"),
                  "Sulphuric acid heat": (300, "kJ/mol", "own")}  # fmt: skip
    log.rows["Samples"] = []
    for index, acid in enumerate(NITRIC):
        at = index // 2 if order == "pairs" else index % 8
        if (index % 2 == 0) if order == "pairs" else index < 8:
            log.add("Samples", sample_no=f"F{at}", moisture_analysis=0.0, sulphur=0.0, nitrogen=nitrogen, basis="ad")
        log.add("Runs", firing_no=index + 1, sample_no=f"F{at}", sample_mass=1.0, temperature_rise=2.5)
        log.add("Titration", firing_no=index + 1, titrant="sodium hydroxide", concentration=0.1,
                concentration_unit="mol/L", titre=round(10 * (acid + extra.get(at, 0.0)), 2))  # fmt: skip
    return log


@pytest.mark.parametrize(
    ("extra", "nitrogen", "told"),
    [
        ({3: 1.0}, None, []),  # its nitrogen is not on record: it may be a feed
        ({3: 1.0}, 5.0, []),  # 5 % are 3.57 mmol, of which 0.3 may be nitric acid: 1.07
        ({3: 2.0}, 5.0, ["7"]),  # more than the nitrogen and the band of the others give
        ({3: 1.0}, 0.2, ["7"]),  # 0.14 mmol of nitrogen
        ({3: -0.35}, 5.0, ["7"]),  # nothing takes nitric acid away
    ],
)
def test_what_both_portions_have_is_the_fuel_s_own(
    tmp_path: Path, extra: dict[int, float], nitrogen: float | None, told: list[str]
) -> None:
    evaluation = run(titrated(extra, nitrogen), tmp_path)
    assert [finding.firing for finding in found(evaluation, "titre-out-of-band")] == told
    assert "titre-shift" not in codes(evaluation)


def test_what_one_portion_has_is_its_titre(tmp_path: Path) -> None:
    log = titrated({}, None)
    log.rows["Titration"][7]["Titre (mL)"] += 9.0
    (one,) = found(run(log, tmp_path), "titre-out-of-band")
    assert (one.firing, one.where) == ("8", "Titration!G9")
    assert "leaves 1.40 mmol of nitric acid; the other titres of this sample leave about 0.48 mmol" in one.message


# --- numbers --------------------------------------------------------------------------------------------------------


def anew(dates: int, firings: int = 4, **every: Any) -> Log:
    """Firings numbered from 1 on each day, two of each sample."""
    log = plain_log()
    log.rows["Samples"] = []
    for day in range(dates):
        for number in range(1, firings + 1):
            name = f"D{day}-{(number + 1) // 2}"
            log.add("Runs", firing_no=number, date=DAY - dt.timedelta(days=dates - 1 - day), sample_no=name,
                    sample_mass=1.0, temperature_rise=2.5, **every)  # fmt: skip
            if number % 2:
                log.add("Samples", sample_no=name, moisture_analysis=4.0)
    return log


def test_numbers_that_start_anew_each_day_are_said_once(tmp_path: Path) -> None:
    """Titres and heat capacities are found by the number, so nothing is computed; one finding says why."""
    evaluation = run(anew(3), tmp_path)
    (one,) = found(evaluation, "firing-numbers-restart")
    assert (one.severity, one.where) == ("block", "Runs!A6")
    assert "12 rows share theirs" in one.message
    assert f"1 stands at Runs row 2 of {DAY - dt.timedelta(days=2)}, Runs row 6 of {DAY - dt.timedelta(days=1)} and 1 more" in one.message  # fmt: skip  # noqa: E501
    assert "firing-number-twice" not in codes(evaluation)
    assert {result.decision for result in evaluation.samples} == {Decision.HOLD}
    assert all(f.state is FiringState.NOT_COMPUTED for f in evaluation.firings)


def test_titrations_of_numbers_that_start_anew_are_not_spoken_of_as_well(tmp_path: Path) -> None:
    log = anew(2)
    log.setup |= {"Acid scheme": ("total as nitric",), "Nitric acid heat": (60, "kJ/mol", "own"),
                  "Sulphuric acid heat": (300, "kJ/mol", "own")}  # fmt: skip
    for number in (1, 2, 3, 4, 1, 2, 3, 4):
        log.add("Titration", firing_no=number, titrant="sodium hydroxide", concentration=0.1,
                concentration_unit="mol/L", titre=5.0)  # fmt: skip
    assert [c for c in codes(run(log, tmp_path)) if c.startswith(("firing-number", "titration"))] == [
        "firing-numbers-restart"
    ]


def test_a_number_typed_twice_is_a_slip(tmp_path: Path) -> None:
    log = anew(1)
    log.rows["Runs"][3]["Firing no."] = 3
    assert len(found(run(log, tmp_path), "firing-number-twice")) == 2
    log = anew(3)
    log.rows["Runs"][5]["Firing no."] = 1  # twice on one day: the others still start anew
    evaluation = run(log, tmp_path)
    assert "8 rows share theirs" in found(evaluation, "firing-numbers-restart")[0].message  # of 2, 3 and 4
    assert [one.where for one in found(evaluation, "firing-number-twice")] == [
        "Runs!A2",
        "Runs!A6",
        "Runs!A7",
        "Runs!A10",
    ]


# --- habits ---------------------------------------------------------------------------------------------------------


def with_aid(count: int) -> Log:
    log = plain_log()
    log.setup["Aid heat [oil]"] = (46000, "J/g", "certificate")
    for number in range(1, count + 1):
        log.add("Runs", firing_no=number, sample_no=f"S{(number + 1) // 2}", sample_mass=0.5,
                temperature_rise=2.5 + number / 1000, aid="oil", aid_mass=0.3)  # fmt: skip
    return log


def test_a_habit_is_said_once(tmp_path: Path) -> None:
    """0.3 g of oil are 13 800 of 25 000 J in every firing: 55 %."""
    assert [one.firing for one in found(run(with_aid(3), tmp_path), "aid-share-high")] == ["1", "2", "3"]
    evaluation = run(with_aid(12), tmp_path)
    (one,) = found(evaluation, "aid-share-high")
    assert "of 12 firings, the latest 10, 11 and 12, 55 % of the heat comes" in one.message
    assert one in firing(evaluation, 1).findings


def test_moistures_of_another_day_are_a_habit_too(tmp_path: Path) -> None:
    log = anew(1, firings=12)
    for index, row in enumerate(log.rows["Samples"]):
        row["Moisture date"] = DAY - dt.timedelta(days=3 + index)
    evaluation = run(log, tmp_path)
    (one,) = found(evaluation, "moisture-other-day")
    assert (
        "samples D0-1, D0-2, D0-3, D0-4, D0-5 and D0-6: analysis moisture and firing are 3 to 8 days apart"
        in one.message
    )
    assert one in sample(evaluation, "D0-1").findings


def test_weak_titrant_is_said_once_for_all_firings(tmp_path: Path) -> None:
    log = titrated({}, None)
    for row in log.rows["Titration"]:
        row["Concentration"], row["Titre (mL)"] = 0.01, 10 * row["Titre (mL)"]
    (one,) = found(run(log, tmp_path), "concentration-unusual")
    assert "16 firings, the latest 14, 15 and 16: 0.01 eq/L is an unusual strength" in one.message


def test_usual_hydrogen_of_several_fuels_is_one_note(tmp_path: Path) -> None:
    log = anew(1, firings=20)
    for index, row in enumerate(log.rows["Samples"]):
        row |= {"Ash (%)": 5.0 + index, "Basis": "d", "Hydrogen (%)": 4.87 if index % 2 else 5.93}
    (one,) = found(run(log, tmp_path), "hydrogen-same")
    assert "have 5.93 % of hydrogen; samples" in one.message
    assert "have 4.87 % of hydrogen" in one.message


def test_what_net_values_rest_on_is_one_note_where_it_is_the_same(tmp_path: Path) -> None:
    log = anew(1, firings=10)
    for row in log.rows["Samples"]:
        row |= {"Basis": "d", "Hydrogen (%)": 5.0, "Hydrogen includes moisture": "no"}
    (one,) = found(run(log, tmp_path), "net-rests-on")
    assert one.message.startswith("Net value of samples D0-1, D0-2, D0-3, D0-4 and D0-5: ")
    del log.rows["Samples"][3:]
    assert {note.sample for note in found(run(log, tmp_path), "net-rests-on")} == {"D0-1", "D0-2", "D0-3"}


# --- messages -------------------------------------------------------------------------------------------------------


def test_a_pair_just_over_the_limit_shows_by_how_much(tmp_path: Path) -> None:
    """2.500000 and 2.512001 K are 120.01 J/g apart in 1 g: not "120.0 apart, limit 120.0"."""
    (one,) = found(run(plain_log(2.5, 2.512001), tmp_path), "pair-apart")
    assert "are 120.01 J/g apart; the limit is 120.00 J/g (0.01 J/g over)" in one.message
    (one,) = found(run(plain_log(2.5, 2.53), tmp_path), "pair-apart")
    assert "are 300.0 J/g apart; the limit is 120.0 J/g (180.0 J/g over)" in one.message


@pytest.mark.parametrize(
    ("value", "limit", "texts"),
    [
        (120.04, 120.0, ("120.04", "120.00", "0.04")),
        (119.96, 120.0, ("119.96", "120.00", "0.04")),
        (120.0, 120.0, ("120.0", "120.0", "0.0")),
        (120.0 * (1 + 1e-12), 120.0, ("120.0", "120.0", "0.0")),
        (130.0, 120.0, ("130.0", "120.0", "10.0")),
    ],
)
def test_as_many_digits_as_it_takes(value: float, limit: float, texts: tuple[str, str, str]) -> None:
    assert wording.apart(value, limit) == texts
