"""What holds for every log: order and units of typing change nothing, and ready means ready."""

import tempfile
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from logbook import SINCE, Log, plain_log, run

from batchcal.model import Evaluation
from batchcal.terms import Basis, Decision, FiringState

FEW = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])

RISES = st.integers(2480, 2530).map(lambda step: step / 1000)
MASSES = st.integers(9000, 11000).map(lambda step: step / 10000)


def evaluated(log: Log) -> Evaluation:
    with tempfile.TemporaryDirectory() as folder:
        return run(log, Path(folder))


@st.composite
def logs(draw: st.DrawFn) -> Log:
    """A day with a series, up to three samples of up to four firings, and now and then something amiss."""
    log = plain_log()
    log.setup |= {
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Series minimum": (draw(st.sampled_from([3, 5])), None, "own"),
        "Series relative SD limit": (0.2, "%", "own"),
        "Comparison basis": (draw(st.sampled_from(["ad", "d"])),),
        "Bases required": (draw(st.sampled_from(["ad", "ad, d", "d, ar", "ad, daf"])),),
        "Further-test rule": (draw(st.sampled_from(["range", "median", "closest two"])),),
    }
    if draw(st.booleans()):
        del log.setup["Effective heat capacity"]
        for number in range(draw(st.integers(2, 6))):
            rise = 2.65 + draw(st.integers(-4, 4)) / 1000
            log.add("Calibration", firing_no=100 + number, date=SINCE, sample_mass=1.0, temperature_rise=rise)
    log.rows["Samples"] = []
    number = 0
    for name in ("S1", "S2", "S3")[: draw(st.integers(1, 3))]:
        for _ in range(draw(st.integers(1, 4))):
            number += 1
            row = log.add(
                "Runs", firing_no=number, sample_no=name, sample_mass=draw(MASSES), temperature_rise=draw(RISES)
            )
            row.update(draw(amiss))
        sample = {
            "Sample no.": name,
            "Basis": draw(st.sampled_from(["ad", "d", "ar", "daf", None])),
            "Moisture, analysis (%)": draw(st.sampled_from([4, 12, None, "4 %"])),
            "Moisture, total (%)": draw(st.sampled_from([10, None])),
            "Ash (%)": draw(st.sampled_from([8, None, 97])),
        }
        log.rows["Samples"].append(sample)
    return log


amiss: st.SearchStrategy[dict[str, Any]] = st.one_of(
    st.just({}),
    st.just({}),
    st.just({}),
    st.sampled_from(
        [
            {"Outcome": "misfire"},
            {"Use": "set aside", "Reason": "soot"},
            {"Use": "set aside"},
            {"Sample mass (g)": "1,0"},
            {"Temperature rise (K)": None},
            {"Purpose": "trial"},
            {"Bomb": "7"},
        ]
    ),
)


@FEW
@given(logs())
def test_ready_means_every_required_basis_within_the_limit_and_nothing_in_the_way(log: Log) -> None:
    evaluation = evaluated(log)
    for result in evaluation.samples:
        if result.decision is not Decision.READY:
            continue
        assert result.n_used >= 2
        for basis in (*evaluation.settings.bases_required, evaluation.settings.comparison_basis):
            assert basis is not None
            assert result.gross_J_per_g[basis] is not None, basis
        assert result.range_J_per_g is not None
        assert result.limit_J_per_g is not None
        if not result.statistic.startswith("median"):
            assert result.range_J_per_g <= result.limit_J_per_g * (1 + 1e-9)
        assert all(one.state in (FiringState.USED, FiringState.EXCLUDED) for one in result.counted)
        assert not [finding for finding in result.findings if finding.severity.stops]


@FEW
@given(logs())
def test_the_value_of_a_sample_is_never_given_with_a_provisional_firing(log: Log) -> None:
    for result in evaluated(log).samples:
        if any(one.state is FiringState.PROVISIONAL for one in result.counted):
            assert set(result.gross_J_per_g.values()) == {None}
            assert result.decision is not Decision.READY


@FEW
@given(logs(), st.randoms(use_true_random=False))
def test_the_order_of_rows_and_columns_changes_no_value_and_no_decision(log: Log, chance: Any) -> None:
    turned = log.copy()
    for rows in turned.rows.values():
        chance.shuffle(rows)
    for headings in turned.headings.values():
        chance.shuffle(headings)
    items = list(turned.setup.items())
    chance.shuffle(items)
    turned.setup = dict(items)
    one, other = evaluated(log), evaluated(turned)
    if not ORDERLY & {finding.code for finding in (*one.findings, *other.findings)}:
        assert summary(other) == summary(one)


ORDERLY = {"row-shift", "rows-mixed", "start-copied"}
"""What is said of the order of the rows itself, and silences what follows from it."""


def summary(evaluation: Evaluation) -> dict[str, Any]:
    """Values and decisions by name, exactly as computed."""
    return {
        "samples": {
            one.sample: (one.decision, one.n_used, one.range_J_per_g, one.limit_J_per_g, dict(one.gross_J_per_g))
            for one in evaluation.samples
        },
        # By sample, not by number: of two equal firings "closest two" may leave out either.
        "firings": sorted(
            str((one.row.sample, one.state, one.gross_ad_J_per_g, one.gross_d_J_per_g, one.heat_capacity_J_per_K))
            for one in evaluation.firings
        ),
        "series": sorted(
            (one.name, one.heat_capacity_J_per_K, one.sd_J_per_K, one.n, one.state) for one in evaluation.series
        ),
        "codes": sorted(finding.code for finding in evaluation.findings),
    }


PERCENT = st.sampled_from([None, 0, 4, 12, 60, 97, "4 %", 104, -1])


@settings(max_examples=150, deadline=None)
@given(
    st.lists(st.sampled_from(list(Basis)), min_size=1, max_size=4, unique=True),
    st.sampled_from(["ad", "d"]),
    st.sampled_from(["ad", "d", "ar", "daf", None, "wet"]),
    st.tuples(PERCENT, PERCENT, PERCENT),
)
def test_two_firings_that_agree_are_ready_only_with_every_required_basis(
    bases: list[Basis], compared: str, basis: str | None, contents: tuple[Any, Any, Any]
) -> None:
    log = plain_log(2.5, 2.5)
    log.setup |= {"Bases required": (", ".join(bases),), "Comparison basis": (compared,)}
    names = ("Moisture, analysis (%)", "Moisture, total (%)", "Ash (%)")
    log.rows["Samples"][0].update(dict(zip(names, contents, strict=True)) | {"Basis": basis})
    evaluation = evaluated(log)
    (result,) = evaluation.samples
    if result.decision is Decision.READY:
        assert [one for one in (*bases, Basis(compared)) if result.gross_J_per_g[one] is None] == []
    else:
        assert any(finding.effect is result.decision for finding in result.findings)


@FEW
@given(st.lists(st.tuples(MASSES, RISES), min_size=2, max_size=4))
def test_milligrams_in_the_heading_change_nothing(charges: list[tuple[float, float]]) -> None:
    log = plain_log()
    scaled = plain_log()
    scaled.headings["Runs"][15] = "Sample mass (mg)"
    for number, (mass, rise) in enumerate(charges, 1):
        log.add("Runs", firing_no=number, sample_no="S1", sample_mass=mass, temperature_rise=rise)
        row = scaled.add("Runs", firing_no=number, sample_no="S1", temperature_rise=rise)
        row["Sample mass (mg)"] = round(mass * 1e4) / 10  # as typed: 1.0342 g and 1034.2 mg
    one, other = evaluated(log), evaluated(scaled)
    for found, again in zip(one.firings, other.firings, strict=True):
        assert found.gross_ad_J_per_g is not None
        assert again.gross_ad_J_per_g is not None
        assert abs(found.gross_ad_J_per_g / again.gross_ad_J_per_g - 1) < 1e-14
    assert one.samples[0].decision is other.samples[0].decision
    assert [f.code for f in one.findings] == [f.code for f in other.findings]


@FEW
@given(MASSES, RISES)
def test_the_dry_value_is_the_one_as_analysed_over_its_dry_part(mass: float, rise: float) -> None:
    log = plain_log()
    log.setup["Comparison basis"] = ("d",)
    for number in (1, 2):
        log.add("Runs", firing_no=number, sample_no="S1", sample_mass=mass, temperature_rise=rise)
    result = evaluated(log).samples[0]
    by_hand = (10000 * rise - 60) / mass
    assert abs((result.gross_J_per_g[Basis.AS_ANALYSED] or 0) / by_hand - 1) < 1e-13
    assert abs((result.gross_J_per_g[Basis.DRY] or 0) / (by_hand / 0.96) - 1) < 1e-13
