"""Copies, exchanges and wrong numbers, by hand: C = 10 000 J/K, 60 J of ignition, no acid, 4 % moisture, limit 120."""

from pathlib import Path

import pytest
from logbook import DAY, SINCE, Log, codes, plain_log, run, sample
from long_log import long_log

from batchcal.findings import Finding
from batchcal.model import Evaluation
from batchcal.terms import Decision


def fired(*firings: tuple[float, float], name: str = "S1", **every: object) -> Log:
    """A log of one sample with these masses (g) and rises (K)."""
    log = plain_log(sample=name)
    for number, (mass, rise) in enumerate(firings, 1):
        log.add("Runs", firing_no=number, sample_no=name, sample_mass=mass, temperature_rise=rise, **every)
    return log


def only(evaluation: Evaluation, code: str) -> Finding:
    found = [finding for finding in evaluation.findings if finding.code == code]
    assert len(found) == 1, codes(evaluation)
    return found[0]


def test_exchanged_masses_are_named(tmp_path: Path) -> None:
    """25 000 J/g: 0.9 g gives (22 500 + 60) / 10 000 = 2.256 K, 1.1 g 2.756 K; exchanged 20 454 and 30 555 J/g."""
    found = only(run(fired((1.1, 2.256), (0.9, 2.756)), tmp_path), "masses-exchanged")
    assert found.message.endswith("are 10101 J/g apart, and 0 J/g if their masses are exchanged.")
    assert found.where == "Runs!P2"
    assert "masses-exchanged" not in codes(run(fired((0.9, 2.256), (1.1, 2.77)), tmp_path))


def test_a_pair_that_agrees_gives_no_hint(tmp_path: Path) -> None:
    found = codes(run(fired((1.0, 2.5), (1.01, 2.5256)), tmp_path))
    assert not {"masses-exchanged", "digits-exchanged", "apparatus-exchanged", "rows-alike"} & set(found)


def test_exchanged_digits_beyond_twelve_limits_only(tmp_path: Path) -> None:
    """1.0234 g typed 1.2034: 2.5645 K is (25 645 - 60) / 1.0234 = 25 000, and 21 261 J/g as typed, 31 limits off."""
    found = only(run(fired((1.2034, 2.5645), (0.98, 2.456)), tmp_path), "digits-exchanged")
    assert found.firing == "1"
    assert "is 1.0234 and not 1.2034" in found.message
    # 1.0234 typed 1.0324 is 218 J/g, less than two limits: by chance some exchange fits nearly always.
    assert "digits-exchanged" not in codes(run(fired((1.0324, 2.5645), (0.98, 2.456)), tmp_path))


def two_bombs(second: str) -> Log:
    log = plain_log()
    del log.setup["Effective heat capacity"]
    for bomb, capacity in (("B1", 10000), ("B2", 10200)):
        log.setup[f"Effective heat capacity [K/{bomb}]"] = (capacity, "J/K", "own series", SINCE)
    log.add("Runs", firing_no=1, sample_no="S1", sample_mass=1.0, temperature_rise=2.5, calorimeter="K", bomb="B1")
    log.add("Runs", firing_no=2, sample_no="S1", sample_mass=1.01, temperature_rise=2.525, calorimeter="K", bomb=second)
    return log


def test_another_bomb_that_makes_the_two_agree_is_named(tmp_path: Path) -> None:
    """10 200 x 2.525 = 25 755 less 60 by 1.01 g is 25 441, with 10 000 J/K 24 941: 501 J/g apart, then 1."""
    found = only(run(two_bombs("B2"), tmp_path), "apparatus-exchanged")
    assert "501 J/g apart, and 1 J/g" in found.message
    assert "apparatus-exchanged" not in codes(run(two_bombs("B1"), tmp_path))


def test_an_aid_that_was_forgotten_is_weighed_by_the_heat_too_much(tmp_path: Path) -> None:
    """0.3 g at 26 454 J/g in firing 1; firing 2 the same charge without the entry: 7 936 J too much."""
    log = plain_log()
    log.setup["Aid heat [benzoic acid]"] = (26454, "J/g", "certificate")
    log.add("Runs", firing_no=1, sample_no="S1", sample_mass=0.6, temperature_rise=2.3,
            aid="benzoic acid", aid_mass=0.3)  # fmt: skip
    log.add("Runs", firing_no=2, sample_no="S1", sample_mass=0.6, temperature_rise=2.3001)
    found = run(log, tmp_path)
    assert "about 0.300 g of benzoic acid" in only(found, "aid-forgotten").message
    assert only(found, "aid-in-one-only").firing == "1"


def test_two_figures_in_common_hold_a_pair(tmp_path: Path) -> None:
    evaluation = run(fired((1.0012, 2.512), (1.0012, 2.512)), tmp_path)
    found = only(evaluation, "rows-alike")
    assert "the same mass and rise" in found.message
    assert found.row == 3
    assert sample(evaluation).decision is Decision.HOLD
    assert "rows-alike" not in codes(run(fired((1.0012, 2.512), (1.0012, 2.514)), tmp_path))


def test_two_figures_in_common_of_different_samples_are_for_review(tmp_path: Path) -> None:
    log = fired((1.0012, 2.512), (1.0344, 2.5927))
    log.add("Samples", sample_no="S2", moisture_analysis=4.0)
    log.add("Runs", firing_no=3, sample_no="S2", sample_mass=1.0012, temperature_rise=2.512)
    log.add("Runs", firing_no=4, sample_no="S2", sample_mass=0.9732, temperature_rise=2.4400)
    evaluation = run(log, tmp_path)
    assert only(evaluation, "rows-alike").severity == "review"
    assert sample(evaluation).decision is Decision.READY


def test_a_copy_is_found_in_a_log_of_years(tmp_path: Path) -> None:
    """Of more than 2 000 firings only nearer neighbours tell how masses and rises scatter."""
    log = long_log(days=118)
    assert len(log.rows["Runs"]) > 2000
    *_, copied, copy = log.rows["Runs"]
    copy |= {name: copied[name] for name in ("Sample mass (g)", "Temperature rise (K)")}
    log.rows["Titration"][-1]["Titre (mL)"] = log.rows["Titration"][-2]["Titre (mL)"]
    assert only(run(log, tmp_path), "rows-alike").firing == str(copy["Firing no."])


def test_a_set_start_is_no_sign_of_a_copy(tmp_path: Path) -> None:
    """Seven firings of one mass to 0.1 g, all started at 25.00: what everything shares says nothing."""
    log = plain_log()
    for number in range(1, 9):
        log.add("Runs", firing_no=number, sample_no="S1" if number < 3 else f"T{number}", sample_mass=1.0,
                initial_temperature=25.0, final_temperature=27.5 + 0.003 * number)  # fmt: skip
    assert "rows-alike" not in codes(run(log, tmp_path))


def test_a_start_that_equals_the_end_before_it(tmp_path: Path) -> None:
    log = plain_log()
    for number, (start, end) in enumerate(((22.5, 25.0), (25.0, 27.5)), 1):
        log.add("Runs", firing_no=number, sample_no="S1", sample_mass=1.0 + 0.001 * number, initial_temperature=start,
                final_temperature=end)  # fmt: skip
    assert "starts at 25 °C, the end of firing 1" in only(run(log, tmp_path), "start-copied").message


def test_a_letter_used_twice_holds_the_sample(tmp_path: Path) -> None:
    log = fired((1.0, 2.5), (1.01, 2.5256), replicate="A")
    evaluation = run(log, tmp_path)
    assert "has the replicate A in firings 1 and 2" in only(evaluation, "replicate-twice").message
    assert sample(evaluation).decision is Decision.HOLD


def test_two_groups_under_one_number(tmp_path: Path) -> None:
    """24 940 twice and 25 940 twice: two pairs that agree, 1 000 J/g from each other."""
    evaluation = run(fired((1.0, 2.5), (1.01, 2.5252), (1.02, 2.6522), (1.0, 2.6)), tmp_path)
    assert "1 with 2 and 3 with 4" in only(evaluation, "two-groups").message


@pytest.mark.parametrize(("other", "said"), [("26-1042", True), ("26-1401", True), ("26-2099", False)])
def test_single_firings_of_numbers_nearly_alike(tmp_path: Path, other: str, said: bool) -> None:
    log = fired((1.0, 2.5), name="26-1041")
    log.add("Runs", firing_no=2, sample_no=other, sample_mass=1.02, temperature_rise=2.5504)
    assert ("numbers-nearly-alike" in codes(run(log, tmp_path))) is said
    log.add("Samples", sample_no=other, moisture_analysis=4.0)  # two samples, each fired once so far
    assert "numbers-nearly-alike" not in codes(run(log, tmp_path))


def test_three_firings_of_one_number_and_one_of_another(tmp_path: Path) -> None:
    """24 940 J/g twice, and 25 940 J/g once under each number: the third firing of the one completes the other."""
    log = fired((1.0, 2.5), (1.01, 2.5252), (1.02, 2.6522), name="26-1041")
    log.add("Samples", sample_no="26-1042", moisture_analysis=4.0)
    log.add("Runs", firing_no=4, sample_no="26-1042", sample_mass=1.0, temperature_rise=2.6)
    found = only(run(log, tmp_path), "numbers-nearly-alike")
    assert "firing 3 of 26-1041 and firing 4 of 26-1042" in found.message


RISES = (2.512, 2.204, 2.871, 2.655, 2.402, 2.739, 2.118, 2.563, 2.333, 2.801)


def shifted(first: int | None, way: int = 1) -> Log:
    """Ten firings of five samples at 24 000 to 26 000 J/g; from row ``first`` on the rises stand one row off."""
    log = plain_log()
    rows = []
    for number, rise in enumerate(RISES):
        name, heat = f"F{number // 2}", 24000 + 500 * (number // 2)
        rows.append((number + 1, name, (1e4 * rise - 60) / heat, rise))
        if number % 2:
            log.add("Samples", sample_no=name, moisture_analysis=4.0)
    for index, (number, name, mass, rise) in enumerate(rows):
        moved = rise
        if first is not None and index >= first:
            moved = rows[max(0, min(len(rows) - 1, index - way))][3]
        log.add("Runs", firing_no=number, date=DAY, sample_no=name, sample_mass=mass, temperature_rise=moved)
    return log


@pytest.mark.parametrize(("way", "word"), [(1, "low"), (-1, "high")])
def test_a_column_that_slipped_by_a_row_is_found_where_it_begins(tmp_path: Path, way: int, word: str) -> None:
    evaluation = run(shifted(2, way), tmp_path)
    found = only(evaluation, "row-shift")
    assert f"one row too {word}" in found.message
    assert "Temperature rise (K)" in found.message
    assert found.row in (4, 5)  # the third firing stands in row 4
    assert "pair-apart" not in [f.code for f in evaluation.findings if f.sample in {"F1", "F2", "F3"}]
    assert [s.decision for s in evaluation.samples].count(Decision.HOLD) >= 3
    assert sample(evaluation, "F0").decision is Decision.READY


def test_an_honest_sheet_has_not_slipped(tmp_path: Path) -> None:
    assert not {"row-shift", "rows-mixed"} & set(codes(run(shifted(None), tmp_path)))


def test_a_column_sorted_alone_is_said_of_the_sheet(tmp_path: Path) -> None:
    log = shifted(None)
    for row, rise in zip(log.rows["Runs"], sorted(RISES), strict=True):
        row["Temperature rise (K)"] = rise
    found = only(run(log, tmp_path), "rows-mixed")
    assert found.where == "Runs"
    assert "Temperature rise (K) runs in order from top to bottom" in found.message


def test_a_power_of_ten_is_said_with_the_column_it_is_off(tmp_path: Path) -> None:
    log = shifted(None)
    log.rows["Runs"][4]["Sample mass (g)"] *= 10
    evaluation = run(log, tmp_path)
    found = only(evaluation, "decimal-slip")
    assert (found.firing, found.row) == ("5", 6)
    assert "about 10 times" in found.message
    assert sample(evaluation, "F2").decision is Decision.HOLD


def in_turn(*bombs: str) -> Log:
    log = plain_log()
    del log.setup["Effective heat capacity"]
    for bomb in ("B1", "B2"):
        log.setup[f"Effective heat capacity [K/{bomb}]"] = (10000, "J/K", "own series", SINCE)
    for number, bomb in enumerate(bombs, 1):
        log.add("Runs", firing_no=number, sample_no=f"F{number // 2}", sample_mass=1.0 + number / 1000,
                temperature_rise=2.5 + number / 401, calorimeter="K", bomb=bomb)  # fmt: skip
    return log


def test_a_firing_out_of_the_turn_of_two_bombs(tmp_path: Path) -> None:
    turn = ["B1", "B2"] * 5
    assert "bomb-out-of-turn" not in codes(run(in_turn(*turn), tmp_path))
    turn[4] = "B2"
    found = only(run(in_turn(*turn), tmp_path), "bomb-out-of-turn")
    assert (found.firing, found.severity, found.row) == ("5", "review", 6)
    assert "with bomb B1 the turn would be whole" in found.remedy
    turn[7] = "B1"  # two breaks of the turn: nothing is said of either
    assert "bomb-out-of-turn" not in codes(run(in_turn(*turn), tmp_path))
    assert "bomb-out-of-turn" not in codes(run(in_turn("B1", "B2", "B2", "B2", "B1"), tmp_path))  # too few
