"""The summary page as a reader, a printer and a screen reader get it."""

import re
from html.parser import HTMLParser

import pytest
from day import CONSTANTS, make_batch, make_evaluation, printed, with_settings
from msgspec.structs import replace

from batchcal.evaluate import evaluate
from batchcal.evaluate.record import constants_used
from batchcal.logged import Batch, SetupEntry
from batchcal.model import Evaluation
from batchcal.report.environment import script
from batchcal.report.page import summary_page
from batchcal.terms import Basis, Decision

ORDER = [
    "cautions", "verdict", "do-now", "calorimeter", "samples", "charts", "corrections", "findings", "unseen", "working",
    "record",
]  # fmt: skip
VOID = {"br", "input", "meta"}
DRAWN = {"path", "circle", "rect"}


class Element:
    def __init__(self, tag: str, attributes: dict[str, str | None]) -> None:
        self.tag = tag
        self.attributes = attributes
        self.children: list[Element] = []
        self.words: list[str] = []

    @property
    def text(self) -> str:
        return " ".join("".join(self.words).split())

    def all(self, tag: str) -> "list[Element]":
        return [found for child in self.children for found in ([child] if child.tag == tag else []) + child.all(tag)]


class Page(HTMLParser):
    """A strict reader: every element that opens must close, in order."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.root = Element("document", {})
        self.open = [self.root]
        self.ids: dict[str, Element] = {}
        self.every: list[Element] = []
        self.feed(html)
        self.close()
        assert [element.tag for element in self.open] == ["document"], "some elements are never closed"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, dict(attrs))
        assert len(element.attributes) == len(attrs), f"an attribute stands twice on {tag}"
        self.open[-1].children.append(element)
        self.every.append(element)
        identity = element.attributes.get("id")
        if identity:
            assert identity not in self.ids, f"id {identity} stands twice"
            self.ids[identity] = element
        if tag not in VOID:
            self.open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open[-1].tag == tag, f"{tag} closes {self.open[-1].tag}"
        self.open.pop()

    def handle_data(self, data: str) -> None:
        for element in self.open:
            element.words.append(data)


def html_of(evaluation: Evaluation) -> str:
    return summary_page(evaluation, printed, CONSTANTS, "Invented title")


@pytest.fixture(scope="module")
def day() -> Evaluation:
    return make_evaluation()


@pytest.fixture(scope="module")
def html(day: Evaluation) -> str:
    return html_of(day)


@pytest.fixture(scope="module")
def page(html: str) -> Page:
    return Page(html)


def without(*keys: str) -> Evaluation:
    return with_settings(lambda entry: None if entry.key in keys else entry, make_batch())


def changed(key: str, value: str | float, unit: str = "") -> Evaluation:
    def change(entry: SetupEntry) -> SetupEntry:
        return replace(entry, value=value, unit=unit) if entry.key == key else entry

    return with_settings(change, make_batch())


def sample_rows(page: Page) -> dict[str, tuple[Element, ...]]:
    """The two lines of each sample in the table, in the order of the page."""
    bodies = page.ids["samples"].all("tbody")
    return {body.all("th")[0].text.partition(" ")[0]: tuple(body.all("tr")) for body in bodies}


def test_sections_stand_in_the_order_of_the_contract(page: Page) -> None:
    main = next(element for element in page.every if element.tag == "main")
    assert [section.attributes["id"] for section in main.children] == ORDER


def test_nothing_is_loaded_and_nothing_runs_but_the_script_of_the_page(html: str, page: Page) -> None:
    tags = {element.tag for element in page.every}
    assert html.count("<script") == 1
    assert html.count("<script>") == 1
    assert not tags & {"link", "img", "iframe", "object", "embed", "form", "base", "image", "use"}
    for element in page.every:
        for name, value in element.attributes.items():
            assert not name.startswith("on"), name
            assert name not in {"src", "srcset", "data", "action", "style", "xlink:href"}, name
            if name == "href":
                assert value is not None
                assert value.startswith("#")
                assert value[1:] in page.ids
    style = next(element for element in page.every if element.tag == "style").text
    assert "@import" not in style
    assert "url(" not in style
    assert set(re.findall(r"url\([^)]*\)", html)) == {"url(#hatch)"}
    policy = [e.attributes["content"] for e in page.every if "http-equiv" in e.attributes]
    assert policy == [f"default-src 'none'; style-src 'unsafe-inline'; script-src '{script('summary.js')[1]}'"]


def test_tables_charts_and_references_can_be_read_aloud(page: Page) -> None:
    tables = [element for element in page.every if element.tag == "table"]
    assert len(tables) == 6
    for table in tables:
        assert table.all("caption")[0].text
        assert all(cell.attributes.get("scope") in {"col", "row"} for cell in table.all("th"))
    drawings = [e for e in page.every if e.tag == "svg" and e.attributes.get("class") != "shape"]
    assert len(drawings) == 5 + 5  # a bar for each pair compared, and five charts
    for drawing in drawings:
        assert drawing.attributes["role"] == "img"
        assert [child.tag for child in drawing.children[:2]] == ["title", "desc"]
        assert all(child.text for child in drawing.children[:2])
    for element in page.every:
        for name in ("aria-labelledby", "aria-describedby"):
            for identity in (element.attributes.get(name) or "").split():
                assert identity in page.ids
    assert next(e for e in page.every if e.tag == "a").attributes["href"] == "#verdict"
    assert next(e for e in page.every if e.tag == "html").attributes["lang"] == "en"


def test_verdict_counts_the_decisions(page: Page) -> None:
    tally = [item.text for item in page.ids["verdict"].all("li")]
    assert [text.split()[:2] for text in tally] == [["4", "ready"], ["2", "repeat"], ["1", "wait"], ["1", "hold"]]


def test_every_sample_has_its_decision_and_reason_and_blocked_ones_stand_first(day: Evaluation, page: Page) -> None:
    rows = sample_rows(page)
    assert list(rows) == [
        "26-0716", "26-0714", "26-0713", "26-0718", "26-0711", "26-0712", "26-0715", "26-0717",
    ]  # fmt: skip
    for sample in day.samples:
        values, words = rows[sample.sample]
        assert values.all("td")[0].text == sample.decision
        assert values.all("td")[0].all("svg"), "a word without its shape"
        assert len(words.text) > 20
        for firing in sample.firings:
            assert firing.name in values.text
            assert f"Runs row {firing.row.place.row}" in values.text


def test_a_reason_that_samples_share_is_said_once(day: Evaluation) -> None:
    shared = replace(day, samples=tuple(replace(sample, reason="One column has slipped") for sample in day.samples))
    rows = sample_rows(Page(html_of(shared)))
    first, *others = rows
    assert rows[first][1].text.startswith("One column has slipped.")
    assert all(rows[name][1].text.startswith(f"The same as {first}.") for name in others)


def test_results_are_printed_as_the_caller_rounds_them(day: Evaluation, page: Page) -> None:
    rows = sample_rows(page)
    for sample in day.samples:
        cells = [cell.text for cell in rows[sample.sample][0].all("td")[3:]]
        expected = [sample.gross_J_per_g[basis] for basis in (Basis.AS_ANALYSED, Basis.DRY, Basis.AS_RECEIVED)]
        assert cells == ["–" if value is None else printed(value) for value in expected]


def test_firings_and_differences_can_be_checked_by_subtraction(page: Page) -> None:
    values = sample_rows(page)["26-0713"][0].all("td")
    low, high = re.findall(r"\d{5}\.\d", values[1].text)
    found = re.match(r"(\d+\.\d) of (\d+\.\d)", values[2].text)
    assert found is not None
    assert float(high) - float(low) == pytest.approx(float(found[1]), abs=0.11)
    assert found[2] == "120.0"


def test_the_facts_of_a_value_are_said(html: str, page: Page) -> None:
    caption = page.ids["samples"].all("caption")[0].text
    for fact in ("gross", "at constant volume", "kcal/kg", "international calorie, 4.1868 J", "basis"):
        assert fact in caption
    assert "Net calorific value: not computed (" in caption
    assert "Draft until released by a signature on Amendments." in html


def test_every_decision_and_severity_word_has_a_shape(page: Page) -> None:
    words = [e for e in page.every if (e.attributes.get("class") or "").startswith("word ")]
    assert {"ready", "repeat", "wait", "hold", "block", "review", "note", "in", "in force"} <= {e.text for e in words}
    for element in words:
        shapes = element.all("svg")
        assert len(shapes) == 1
        assert {child.tag for child in shapes[0].children} <= DRAWN
    shapes_of = {e.text: e.all("svg")[0].children[0].attributes for e in words}
    forms = {(shapes_of[decision].get("d"), shapes_of[decision].get("fill")) for decision in Decision}
    assert len(forms) == len(Decision), "two decisions share a shape"


def test_safety_comes_before_the_verdict_and_with_the_caution() -> None:
    html = html_of(make_evaluation(pressure=3.6))
    page = Page(html)
    cautions = page.ids["cautions"].text
    assert "Firing 2412: filled to 3.6 MPa; the limit entered is 3.2 MPa." in cautions
    assert "Runs W3" in cautions
    assert "Follow the equipment's instructions and the local rules" in cautions
    assert html.index('id="cautions"') < html.index('id="verdict"')
    assert "calls no equipment safe" in Page(html_of(make_evaluation())).ids["cautions"].text


def test_a_safety_limit_that_is_blank_is_said(page: Page) -> None:
    assert "not checked: maximum charge energy and minimum oxygen pressure" in page.ids["cautions"].text


def test_a_check_that_is_out_is_answered_with_no() -> None:
    section = Page(html_of(make_evaluation(check_off=-95.0))).ids["calorimeter"]
    assert "No: check firing 2412 is out." in section.text
    checks = {row.all("th")[0].text[:4]: row.all("td")[0].text for row in section.all("table")[1].all("tr")[1:]}
    assert checks == {"2411": "in", "2412": "out"}


def test_a_missing_check_or_check_limit_is_never_a_yes() -> None:
    assert "Not judged in full" in Page(html_of(without("check_limit"))).ids["calorimeter"].text
    batch = make_batch()
    no_check = replace(batch, firings=tuple(row for row in batch.firings if row.purpose != "check"))
    section = Page(html_of(evaluate(no_check))).ids["calorimeter"].text
    assert "Not judged in full" in section
    assert "No check firing was logged." in section


def test_days_left_are_counted_from_the_batch_date(page: Page) -> None:
    row = page.ids["calorimeter"].all("table")[0].all("tr")[1]
    # 2026-02-03 + 90 days = 2026-05-04, which is 53 days after 2026-03-12.
    assert [cell.text for cell in row.all("td")[-3:]] == ["2026-02-03", "2026-05-04", "53 days"]


def test_expired_heat_capacity_is_answered_with_no() -> None:
    section = Page(html_of(changed("heat_capacity_life", 30.0, "days"))).ids["calorimeter"].text
    assert "No: the heat capacity of calorimeter A with bomb 1 is expired" in section
    assert "7 days over" in section  # 2026-02-03 + 30 days = 2026-03-05


def test_no_acid_correction_is_said_on_every_result() -> None:
    page = Page(html_of(changed("acid_scheme", "none")))
    rows = sample_rows(page)
    assert len(rows) == 8
    assert all("no acid correction" in words.text.lower() for _, words in rows.values())
    assert "acid scheme none" in page.ids["samples"].all("caption")[0].text
    assert "chart-acid" not in page.ids


@pytest.mark.parametrize(
    "hostile",
    [
        "<script>alert(1)</script>",
        "{{ 7*7 }}",
        "{% raw %}",
        '"><img src=x onerror=alert(1)>',
        "'&amp;<b>",
        "</style><script>x</script>",
        "]]><!--",
    ],
)
def test_hostile_text_stays_text(hostile: str) -> None:
    def poisoned(batch: Batch) -> Batch:
        return replace(
            batch,
            file_name=hostile,
            setup=tuple(
                replace(e, value=hostile, source=hostile) if e.key in {"laboratory", "batch"} else e
                for e in batch.setup
            ),
            firings=tuple(
                replace(f, sample=hostile, replicate=hostile, bomb=hostile if f.bomb == "2" else f.bomb)
                if f.sample == "26-0711"
                else f
                for f in batch.firings
            ),
            samples=tuple(
                replace(s, sample=hostile, description=hostile) if s.sample == "26-0711" else s for s in batch.samples
            ),
        )

    html = html_of(evaluate(poisoned(make_batch())))
    page = Page(html)
    assert not {element.tag for element in page.every} & {"img", "b0"}
    assert html.count("<script") == 1
    body = next(element for element in page.every if element.tag == "body").text
    assert body.count(" ".join(hostile.split())) >= 6
    assert ">49<" not in html


def test_findings_are_grouped_most_severe_first_and_folded() -> None:
    page = Page(html_of(make_evaluation(repeats=6, pressure=3.6)))
    groups = [item for item in page.ids["findings"].all("li") if item.all("h3")]
    severities = [item.all("span")[0].text for item in groups]
    order = ["safety", "block", "review", "note"]
    assert severities == sorted(severities, key=order.index)
    codes = [item.all("h3")[0].all("span")[0].text.split()[0] for item in groups]
    assert len(codes) == len(set(codes))
    typed = groups[codes.index("number-as-text")]
    assert "(6 times)" in typed.text
    assert typed.text.count("Type 0,9449 again") == 1
    assert len(re.findall(r"\bK\d+\b", typed.all("p")[-1].text)) == 6


def test_every_firing_can_be_worked_again_from_the_page(day: Evaluation, page: Page) -> None:
    rows = page.ids["corrections"].all("tbody")[0].all("tr")
    assert len(rows) == len(day.firings)
    number = next(i for i, firing in enumerate(day.firings) if firing.name == "2417")
    mass, rise, exchange, capacity, ignition, aid, nitric, sulphuric, gross = (
        float(cell.text) for cell in rows[number].all("td")[1:10]
    )
    by_hand = (capacity * (rise + exchange) - ignition - aid - nitric - sulphuric) / mass
    assert by_hand == pytest.approx(gross, abs=2.5)  # the heat capacity is shown to 0.1 J/K, the rest to 0.1 J


def test_what_is_said_of_the_corrections_stands_outside_what_can_be_scrolled(page: Page) -> None:
    section = page.ids["corrections"]
    (scrolled,) = [part for part in section.all("div") if part.attributes.get("class") == "scroll"]
    sentence = "The heat capacity is the one found (calibration) or used."
    assert sentence in section.text
    assert sentence not in scrolled.text


def test_no_stop_stands_before_another(day: Evaluation) -> None:
    constants = constants_used(day.settings)
    assert any(constant.source.endswith(".") for constant in constants)
    text = Page(summary_page(day, printed, constants)).ids["record"].text
    assert not re.search(r"[.;,:]\s*[;,:]|\.\.", text)


def test_record_holds_input_settings_and_constants_with_source_and_mark(page: Page) -> None:
    record = page.ids["record"]
    for text in (
        "early-shift.xlsx",
        "3f0c" * 16,
        "batchcal 0.1.0",
        "Invented title (iso-1928)",
        "Reel label, invented; entered by the laboratory Setup!B17",
        "9.62964",
        "Blank: Decimal mark, Fixed ignition heat",
        "range (as nothing else is set)",
        "from memory, unchecked",
    ):
        assert text in record.text


def test_what_the_page_cannot_see_and_what_a_reading_step_is_worth(page: Page) -> None:
    unseen = page.ids["unseen"]
    assert len(unseen.all("li")) == 3
    # 0.001 K x about 10 100 J/K / about 0.96 g is 10.5 J/g.
    assert re.search(r"0\.001 K, Setup!B25\) is worth 1[01] J/g at 10\d\d\d J/K and 0\.9\d g", unseen.text)
    assert "the repeatability limit is 120 J/g" in unseen.text


def test_a_day_without_samples_or_firings_is_still_a_page() -> None:
    batch = make_batch()
    empty = replace(batch, firings=(), titrations=(), samples=(), findings=())
    page = Page(html_of(evaluate(empty)))
    assert "No sample was fired." in page.ids["verdict"].text
    assert "No heat capacity was found" in page.ids["calorimeter"].text
    assert "There is nothing to draw." in page.ids["charts"].text


def test_a_setup_that_is_blank_is_still_a_page() -> None:
    batch = replace(make_batch(), setup=())
    page = Page(html_of(evaluate(batch)))
    assert all(row[0].all("td")[0].text == "hold" for row in sample_rows(page).values())
    assert "not named" in page.root.text


def test_the_same_day_gives_the_same_page(html: str) -> None:
    assert html_of(make_evaluation()) == html
