"""The working of a firing or sample: every step's figures stand in the line and lead to its result."""

import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from curve_day import curve_log
from logbook import Log, plain_log
from working_days import CASES

from batchcal.cli import cli
from batchcal.outputs import OutputSet
from batchcal.process import process_workbook
from batchcal.report.explain import explain

EXAMPLES = Path(__file__).parent.parent.parent / "example_workbooks"


def explained(workbook: Path, number: str) -> list[str]:
    result = CliRunner().invoke(cli, ["explain", str(workbook), number])
    assert result.exit_code == 0, result.output
    return result.output.splitlines()


def _figures(line: str) -> str:
    """The sum of a line, as Python: without label, units and sources."""
    body = line[24:].split("  [", maxsplit=1)[0].partition(", at constant")[0].partition(", the acid")[0]
    return re.sub(r"[^0-9.+\-*/()=]", "", body.replace(" x ", "*").replace("eq/mol", "").replace("J/K", "").replace(
        "J/g", "").replace("mol/L", "").replace("eq/L", "").replace("J/cm", "").replace("kJ/mol", ""))  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_every_way_of_working_out_is_processed_and_explained(name: str, tmp_path: Path) -> None:
    path = CASES[name].make().save(tmp_path)
    evaluation = process_workbook(path, OutputSet.for_input(path)).evaluation
    values = [(f.row.firing, f.gross_ad_J_per_g) for f in evaluation.firings if f.state == "used"]
    assert any(value is not None for _, value in values)
    for number, value in values:
        lines = explain(evaluation, number)
        assert lines is not None
        assert value is None or any(f" = {value:.2f} J/g" in line for line in lines), number


def test_a_strength_from_a_standardisation_is_shown_with_its_rows(tmp_path: Path) -> None:
    """0.1021 g / 105.988 g/mol x 2 eq/mol in 19.42 - 0.10 mL is 0.09972 eq/L."""
    lines = explained(CASES["standardised"].make().save(tmp_path), "5")
    (acid,) = [line for line in lines if line.lstrip().startswith("acid titrated")]
    assert "mL x 0.0997222 eq/L = " in acid
    assert acid.endswith("[strength found on Titrant row 4]")


@pytest.mark.parametrize(("name", "number"), [("clean_day", "3203"), ("difficult_day", "3405"), ("clean_day", "3101")])
def test_every_sum_comes_out_on_a_pocket_calculator(name: str, number: str) -> None:
    sums = 0
    for line in explained(EXAMPLES / f"{name}.xlsx", number):
        if " = " not in line or "mmol of" in line:
            continue
        left, _, right = _figures(line).partition("=")
        if "acid titrated" in line:
            left = left.replace("mL", "")
        value = eval(left)  # the figures of our own output, digits and signs only
        # Each line shows rounded figures, so it holds to their last digit.
        assert value == pytest.approx(float(right), rel=3e-5), line
        sums += 1
    assert sums >= 5


def test_each_constant_has_unit_source_and_mark() -> None:
    text = "\n".join(explained(EXAMPLES / "clean_day.xlsx", "3203"))
    assert "[Wire heat: 9.6 J/cm; Wire spool 3 (invented); entered by the laboratory]" in text
    assert "[Nitric acid heat: 59.9 kJ/mol; Own table of constants (invented); entered by the laboratory]" in text
    # 0.9338 g x 0.84 % / 32.06 g/mol = 0.2447 mmol
    assert "0.2447 mmol of sulphur x (301.4 - 2 x 59.9) kJ/mol" in text


def test_a_sample_is_explained_from_its_firings_to_its_values() -> None:
    text = "\n".join(explained(EXAMPLES / "difficult_day.xlsx", "26-1044"))
    for firing in ("3410", "3411", "3412", "3413"):
        assert f"firing {firing}" in text
    assert "352.56 J/g" in text
    assert "median of 4" in text


def test_an_unknown_number_is_wrong_usage(tmp_path: Path) -> None:
    path = plain_log(2.5, 2.5).save(tmp_path)
    result = CliRunner().invoke(cli, ["explain", str(path), "99"])
    assert result.exit_code == 2
    assert "99" in result.stderr


def test_methods_show_figures_with_mark_and_source() -> None:
    every = CliRunner().invoke(cli, ["methods"]).output
    assert "gbt-213" in every
    one = CliRunner().invoke(cli, ["methods", "iso-1928"]).output
    assert "from memory, unchecked" in one
    assert "Repeatability limit" in one
    assert CliRunner().invoke(cli, ["methods", "iso-1"]).exit_code == 2


def test_a_rise_from_readings_is_worked_with_its_uncertainty(tmp_path: Path) -> None:
    lines = explained(curve_log().save(tmp_path), "508")
    rise = next(line for line in lines if line.startswith("  corrected rise"))
    first, sign, second, total = re.findall(r"\d+\.\d+|(?<= )[+-](?= )", rise)
    # The digits are those of the sheet; heat exchange is taken off where it is negative.
    assert float(first) + float(f"{sign}{second}") == pytest.approx(float(total), abs=1.1e-4)
    assert "as the Period column says" in next(line for line in lines if line.startswith("    periods"))
    spread = next(line for line in lines if "its uncertainty" in line)
    whole, *parts = (float(text) for text in re.findall(r"\d+\.\d+", spread))
    assert len(parts) == 6
    assert sum(part**2 for part in parts) ** 0.5 == pytest.approx(whole, abs=0.02)


def test_periods_that_were_found_by_rule_are_said(tmp_path: Path) -> None:
    lines = explained(curve_log(periods=False).save(tmp_path), "501")
    assert "found by rule from the readings" in next(line for line in lines if line.startswith("    periods"))


def two_titrations(**titration: float) -> Log:
    log = plain_log(2.5, 2.501)
    log.setup |= {
        "Acid scheme": ("two titrations",),
        "Nitric acid heat": (60, "kJ/mol", "own"),
        "Sulphuric acid heat": (302, "kJ/mol", "own"),
    }
    for number in (1, 2):
        row = {"blank": 0.2, "baryta": 9.2, "baryta_concentration": 0.1, "carbonate_added": 20, "acid_back_titre": 15,
               "carbonate_concentration": 0.1, "acid_concentration": 0.1}  # fmt: skip
        log.add("Titration", firing_no=number, **row | titration)
    return log


def test_two_titrations_come_out_on_a_pocket_calculator_with_the_blank(tmp_path: Path) -> None:
    """(9.2 - 0.2) x 0.1 = 0.9 mmol; 20 x 0.1 - 15 x 0.1 = 0.5 mmol of it nitric, which leaves 0.2 mmol H2SO4."""
    lines = explained(two_titrations().save(tmp_path), "1")
    text = "\n".join(lines)
    assert "(9.20 - 0.20) mL x 0.1 eq/L = 0.9000 mmol" in text
    assert "20.00 mL carbonate x 0.1 eq/L - 15.00 mL acid x 0.1 eq/L = 0.5000 mmol" in text
    assert "nitric acid           30.00 J" in text  # 0.5 mmol x 60 kJ/mol
    assert "0.2000 mmol of sulphur x 302 kJ/mol = 60.40 J" in text


def test_what_an_uncertainty_leaves_out_is_said_once(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.501)
    lines = explained(log.save(tmp_path), "S1")
    (said,) = [line for line in lines if "not included" in line]
    assert said.count("Thermometer standard uncertainty") == 1
    assert said.endswith("; Moisture standard uncertainty (only dry)")
    shown = [line for line in lines if line.startswith("  U, ")]
    assert len(shown) > 1
    assert all(line.endswith(", at least") for line in shown)


def _wired_log() -> Log:
    """A day whose ignition is found from the wire, by the titre and the sulphur."""
    log = plain_log(2.5, 2.501)
    del log.setup["Fixed ignition heat"]
    log.setup |= {
        "Acid scheme": ("total as nitric",),
        "Wire heat": (9.6, "J/cm", "own"),
        "Nitric acid heat": (60, "kJ/mol", "own"),
        "Sulphuric acid heat": (302, "kJ/mol", "own"),
    }
    log.add(
        "Runs", firing_no=3, sample_no="S1", crucible=12.75, crucible_and_sample=13.7201, wire_fitted=10,
        wire_left="2,5", initial_temperature=24.0, final_temperature=26.33,
    )  # fmt: skip
    log.add(
        "Titration", firing_no=1, titrant="sodium hydroxide", concentration=0.1, concentration_unit="mol/L", titre=5
    )
    return log


def test_a_firing_that_is_not_computed_shows_what_was_read_how_far_it_goes_and_what_to_do(tmp_path: Path) -> None:
    lines = explained(_wired_log().save(tmp_path), "3")
    text = "\n".join(lines)
    assert "what to do            Type the number again with the decimal mark" in text
    # Every figure with its cell, and the one that could not be read.
    assert re.search(r"what was read +Crucible: 12\.7500 g  \[Runs![A-Z]+4\]", text)
    assert re.search(r"Wire left: not readable  \[Runs!([A-Z]+)4\]", text)
    # 13.7201 - 12.75 and 26.33 - 24 by hand; nothing beyond.
    assert "mass: 13.7201 - 12.7500 = 0.9701 g" in text
    assert "rise: 26.3300 - 24.0000 = 2.3300 K" in text
    assert re.search(r"ignition: in doubt at Runs![A-Z]+4$", text, re.MULTILINE)
    assert "acids: needs a titration of firing 3 and the sulphur of sample S1" in text
    assert lines[-1].split() == ["value", "none,", "until", "that", "is", "settled"]
    assert "J/g" not in text
    assert "J/K" not in text


def test_a_weighing_in_doubt_is_not_reckoned_with_and_a_blank_one_is_named(tmp_path: Path) -> None:
    log = _wired_log()
    log.add("Runs", firing_no=4, sample_no="S1", crucible="12,75", crucible_and_sample=13.7, temperature_rise=2.3)
    log.add("Runs", firing_no=5, sample_no="S1", crucible_and_sample=13.7, temperature_rise=2.3)
    path = log.save(tmp_path)
    doubted, blank = "\n".join(explained(path, "4")), "\n".join(explained(path, "5"))
    assert re.search(r"mass: in doubt at Runs![A-Z]+5$", doubted, re.MULTILINE)
    assert "mass: needs Crucible, or Sample mass" in blank
    assert " g\n" not in doubted.partition("how far it goes")[2]
    assert "rise: 2.3000 K, as typed" in doubted


def test_a_misfire_shows_what_was_logged_and_no_value(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.501)
    log.add("Runs", firing_no=3, sample_no="S1", sample_mass=0.9, outcome="misfire")
    text = "\n".join(explained(log.save(tmp_path), "3"))
    assert re.search(r"what was read +Sample mass: 0\.9000 g  \[Runs![A-Z]+4\]", text)
    assert "how far" not in text
    assert text.endswith("value                 none")


def test_a_firing_with_a_value_is_explained_as_before(tmp_path: Path) -> None:
    text = "\n".join(explained(plain_log(2.5, 2.501).save(tmp_path), "1"))
    assert "what was read" not in text
    assert "24940.00 J/g" in text
