"""Uncertainty in words, by hand: parts of 3 and 4 J/g are 5, times 2 is 10."""

from batchcal.model import Contribution, Uncertainty
from batchcal.report import uncertainty as words
from batchcal.terms import VALUE_NAMES


def entry(*missing: str) -> Uncertainty:
    parts = (Contribution("weighing", 3.0, "0.1 mg"), Contribution("repeatability", 4.0, "from Setup"))
    return Uncertainty("net_ar", 5.0, 2.0, lambda value: parts, missing, "repeatability weighs most")


def printed(value: float) -> str:
    return f"{value:.0f}"


def test_a_figure_stands_beside_a_value_only_where_nothing_is_missing() -> None:
    assert words.spread(entry(), printed, 1.0) == "± 10"
    assert words.spread(entry("Balance standard uncertainty"), printed, 1.0) == ""
    assert words.spread(None, printed, 1.0) == ""


def test_the_sum_is_said_as_it_is_worked_out() -> None:
    text = "root of the sum of squares of weighing 3.00, repeatability 4.00: 5.00 x 2 = 10.00 J/g"
    assert words.sum_in_words(entry()) == text
    assert words.sum_in_words(entry("the ash")) == f"{text}, at least"
    assert [name for name, *_ in words.parts_in_words(entry())] == ["repeatability", "weighing"]
    assert VALUE_NAMES["net_ar"] == "net as received"
    assert VALUE_NAMES["d"] == "dry"


def test_what_is_not_included_is_said_once_with_the_values_that_lack_it() -> None:
    entries = {"ad": entry("the balance"), "d": entry("the balance", "the ash"), "ar": entry("the balance")}
    assert words.not_included(entries) == "the balance; the ash (only dry)"
    assert words.not_included({"ad": entry()}) == ""
