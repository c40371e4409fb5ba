"""The working on the page: every firing and sample once, reachable from the tables, in the terminal's own lines."""

import pytest
from curve_day import curve_log
from day import CONSTANTS, make_batch, make_evaluation, printed
from logbook import run
from msgspec.structs import replace
from test_page import Element, Page, html_of

from batchcal.evaluate import evaluate
from batchcal.model import Evaluation
from batchcal.report.explain import Line, explain
from batchcal.report.page import summary_page
from batchcal.report.working import firing_anchor, parts, sample_anchor


@pytest.fixture(scope="module", params=["titrated", "read against time"])
def day(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Evaluation:
    if request.param == "titrated":
        return make_evaluation()
    return run(curve_log(), tmp_path_factory.mktemp("day"))


@pytest.fixture(scope="module")
def page(day: Evaluation) -> Page:
    return Page(html_of(day))


def anchors(evaluation: Evaluation) -> list[str]:
    return [firing_anchor(firing.row.place) for firing in evaluation.firings] + [
        sample_anchor(sample.sample) for sample in evaluation.samples
    ]


def words(element: Element) -> list[str]:
    """Every line of a working on the page: its heading, then label with text."""
    labels, texts = element.all("dt"), element.all("dd")
    assert len(labels) == len(texts)
    return [element.all("h3")[0].text, *(f"{a.text} {b.text}".strip() for a, b in zip(labels, texts, strict=True))]


def test_every_firing_and_sample_has_its_working_once_in_a_closed_part(day: Evaluation, page: Page) -> None:
    section = page.ids["working"]
    assert all("open" not in part.attributes for part in section.all("details"))
    found = [element.attributes["id"] for part in section.all("details") for element in part.all("div")]
    assert sorted(str(anchor) for anchor in found) == sorted(anchors(day))
    assert len(section.all("summary")) == len(day.samples) + 1


def test_a_part_holds_the_firings_of_its_sample(day: Evaluation) -> None:
    for part, sample in zip(parts(day), day.samples, strict=False):
        assert [step.anchor for step in part.steps] == [
            sample_anchor(sample.sample), *(firing_anchor(firing.row.place) for firing in sample.firings)
        ]  # fmt: skip
    others = parts(day)[-1]
    assert "calibration" in others.title
    assert all(step.working.heading.startswith("Firing ") for step in others.steps)


def test_the_lines_are_those_of_explain(day: Evaluation, page: Page) -> None:
    compared = 0
    for name, anchor in [(f.row.firing, firing_anchor(f.row.place)) for f in day.firings] + [
        (s.sample, sample_anchor(s.sample)) for s in day.samples
    ]:
        explained = explain(day, name)
        assert explained is not None
        assert words(page.ids[anchor]) == [" ".join(line.split()) for line in explained]
        compared += len(explained)
    assert compared > 8 * len(day.firings) / 2


def test_the_numbers_in_the_tables_lead_to_their_working(day: Evaluation, page: Page) -> None:
    for section, numbers in (
        ("samples", [s.sample for s in day.samples] + [f.name for s in day.samples for f in s.firings]),
        ("corrections", [f.name for f in day.firings]),
        ("calorimeter", [f.name for f in day.firings if f.purpose == "check"]),
    ):
        links = {link.text: str(link.attributes["href"])[1:] for link in page.ids[section].all("a")}
        assert set(links) == set(numbers)
        for number, anchor in links.items():
            assert number in page.ids[anchor].all("h3")[0].text


def test_anchors_keep_apart_what_is_apart() -> None:
    names = ["a b", "a_b", "a-b", "A b", "a  b", "ä", "a_20_b", "", "'\"<>&", "试样"]
    found = [sample_anchor(name) for name in names]
    assert len(set(found)) == len(names)
    assert all(anchor.isascii() and not set(anchor) & set(" '\"<>&#%") for anchor in found)


def test_a_firing_that_stands_twice_or_has_no_number_has_its_own_working() -> None:
    batch = make_batch()
    rows = list(batch.firings)
    rows[-1] = replace(rows[-1], firing=rows[-3].firing)
    rows[-2] = replace(rows[-2], firing="")
    evaluation = evaluate(replace(batch, firings=tuple(rows)))
    ids = Page(html_of(evaluation)).ids
    assert all(anchor in ids for anchor in anchors(evaluation))


def test_a_day_without_firings_has_no_working() -> None:
    empty = replace(make_batch(), firings=(), titrations=(), samples=(), findings=())
    assert "working" not in Page(html_of(evaluate(empty))).ids


def test_closed_parts_are_not_printed() -> None:
    style = summary_page(make_evaluation(), printed, CONSTANTS).partition("@media print")[2].partition("</style>")[0]
    assert "details:not([open])" in style


def test_a_long_label_never_runs_into_its_text() -> None:
    label = "firing 2026-10-14/calorimeter-1/07"
    assert str(Line(label, "26540.10 J/g", "a source")) == f"  {label} 26540.10 J/g  [a source]"
    assert str(Line("mass", "1.0000 g")) == "  mass                  1.0000 g"
