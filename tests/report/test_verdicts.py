"""The table and the line of verdicts on the terminal, against what the invented day was built to give."""

import pytest
from day import make_batch, make_evaluation, printed
from msgspec.structs import replace

from batchcal.evaluate import evaluate
from batchcal.model import Evaluation
from batchcal.report.verdicts import verdict_line, verdict_table

# sample: decision, firings used, limit, mean dry value aimed at in J/g (None where nothing may be printed).
# The limit is 120 J/g; three firings are accepted within 1.2 x 120 = 144.
BUILT = {
    "26-0711": ("ready", "2", "120.0", 28411.5),  # 28410 with -14 and +17
    "26-0712": ("ready", "2", "120.0", 28653.0),  # 28655 with +22 and -26
    "26-0713": ("repeat", "2", "120.0", None),  # 168 apart
    "26-0714": ("wait", "2", "-", None),  # no analysis moisture
    "26-0715": ("ready", "2", "120.0", 20191.5),  # 20190 with +31 and -28
    "26-0716": ("hold", "1", "-", None),  # a mass that is text
    "26-0717": ("ready", "3", "144.0", 25875.3),  # 25870 with -66, +70 and +12
    "26-0718": ("repeat", "1", "-", None),  # a misfire
}


@pytest.fixture(scope="module")
def day() -> Evaluation:
    return make_evaluation()


def test_every_sample_has_its_line_in_the_order_of_the_workbook(day: Evaluation) -> None:
    heading, *lines = verdict_table(day, printed)
    assert heading.split()[:3] == ["sample", "decision", "n"]
    assert heading.endswith("gross d kcal/kg")
    cells = [line.split() for line in lines]
    assert [cell[0] for cell in cells] == list(BUILT)
    for name, decision, n, difference, limit, as_analysed, dry in cells:
        expected_decision, expected_n, expected_limit, aimed = BUILT[name]
        assert (decision, n, limit) == (expected_decision, expected_n, expected_limit)
        assert (difference == "-") == (limit == "-")
        if aimed is None:
            assert dry == "-"
        else:
            # A rise read to 0.001 K is worth about 11 J/g, so a mean is met within 3 kcal/kg.
            assert int(dry) == pytest.approx(aimed / 4.1868, abs=3)
            assert int(as_analysed) < int(dry)


def test_the_range_is_the_difference_of_the_firings(day: Evaluation) -> None:
    sample = next(sample for sample in day.samples if sample.sample == "26-0713")
    values = [firing.gross_d_J_per_g for firing in sample.firings]
    first, second = (value for value in values if value is not None)
    line = next(line for line in verdict_table(day, printed) if line.startswith("26-0713"))
    assert line.split()[3] == f"{abs(first - second):.1f}"


def test_numbers_end_under_their_heading(day: Evaluation) -> None:
    heading, *lines = verdict_table(day, printed)
    end = heading.index("limit J/g") + len("limit J/g")
    assert all(line[end - 1] != " " and line[end : end + 1] in ("", " ") for line in lines)
    assert all(line == line.rstrip() for line in (heading, *lines))


def test_the_day_in_one_line(day: Evaluation) -> None:
    samples, findings = verdict_line(day).split("; findings: ")
    assert samples == "4 ready, 2 repeat, 1 wait, 1 hold"
    assert findings.startswith("4 block, ")
    assert verdict_line(make_evaluation(pressure=3.6)).split("; findings: ")[1].startswith("1 safety, ")


def test_a_day_without_samples_has_a_heading_and_says_so() -> None:
    bare = evaluate(replace(make_batch(), firings=(), titrations=(), samples=()))
    assert len(verdict_table(bare, printed)) == 1
    assert verdict_line(bare).startswith("no samples; ")
