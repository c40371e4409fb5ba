"""The decimal mark: every figure of page and certificate bears it, and nothing that the lab or a source wrote does."""

import html
import re
from pathlib import Path

import pytest
from day import CONSTANTS, make_batch, make_evaluation, printed, with_settings
from msgspec.structs import replace
from test_certificate import certificate, complete

from batchcal.evaluate import evaluate
from batchcal.findings import CATALOGUE
from batchcal.logged import SetupEntry
from batchcal.model import Evaluation
from batchcal.report.notation import worded
from batchcal.report.page import summary_page
from batchcal.terms import DecimalMark


def in_commas(evaluation: Evaluation) -> Evaluation:
    settings = replace(evaluation.settings, decimal_mark=DecimalMark.COMMA)
    return replace(evaluation, settings=settings)


def shown(page: str) -> list[str]:
    """Return every text that a person sees or hears: between the tags, and in titles and labels."""
    page = re.sub(r"<(style|script)\b.*?</\1>", "", page, flags=re.DOTALL)
    attributes = re.findall(r' (?:title|aria-label|data-label)="([^"]*)"', page)
    return [html.unescape(text) for text in [*re.split(r"<[^>]+>", page), *attributes] if text.strip()]


def test_every_figure_of_the_page_bears_the_comma() -> None:
    evaluation = make_evaluation(check_off=-95.0)
    point, comma = (summary_page(e, printed, CONSTANTS) for e in (evaluation, in_commas(evaluation)))
    pairs = list(zip(shown(point), shown(comma), strict=True))
    left = [text for _, text in pairs if re.search(r"\d\.\d", text)]
    assert left == ["batchcal 0.1.0"]
    changed = [(before, after) for before, after in pairs if before != after]
    assert len(changed) > 500
    for before, after in pairs:
        assert re.sub(r"(?<=\d),(?=\d)", ".", after) == re.sub(r"(?<=\d),(?=\d)", ".", before)
    # Nothing of the drawings, of links or of what programs read is another.
    assert re.findall(r' (?:d|x|y|value|href|id|viewBox|data-key)="[^"]*"', point) == re.findall(
        r' (?:d|x|y|value|href|id|viewBox|data-key)="[^"]*"', comma
    )


def test_names_that_look_like_figures_are_never_altered() -> None:
    batch = make_batch()
    names = {firing.firing: f"{index}.5" for index, firing in enumerate(batch.firings, start=11)}

    def own(entry: SetupEntry) -> SetupEntry:
        if entry.key == "laboratory":
            return replace(entry, value="Room 3.14, Northmoor (invented)")
        return replace(entry, source="Procedure 4.2, invented") if entry.source else entry

    batch = replace(
        batch,
        firings=tuple(
            replace(f, firing=names[f.firing], sample="1042.7" if f.sample == "26-0711" else f.sample)
            for f in batch.firings
        ),
        titrations=tuple(replace(t, firing=names.get(t.firing, t.firing)) for t in batch.titrations),
        samples=tuple(replace(s, sample="1042.7" if s.sample == "26-0711" else s.sample) for s in batch.samples),
        setup=tuple(own(entry) for entry in batch.setup),
    )
    page = summary_page(in_commas(evaluate(batch)), printed, CONSTANTS)
    texts = shown(page)
    assert "1042,7" not in page
    assert texts.count("1042.7") >= 2
    assert "Room 3.14, Northmoor (invented)" in texts
    assert any("Procedure 4.2, invented" in text for text in texts)
    assert not any("4,2, invented" in text for text in texts)
    links = re.findall(r'<a href="#firing-[^"]*">([^<]*)</a>', page)
    assert links
    assert set(links) <= set(names.values())
    # In a cell a figure is known to be one, whatever a firing is called.
    figures = re.findall(r"<data [^>]*>([^<]*)</data>", page)
    assert figures
    assert not any("." in figure for figure in figures)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Rise 2.5 K, exchange \N{MINUS SIGN}0.0123 K.", "Rise 2,5 K, exchange \N{MINUS SIGN}0,0123 K."),
        ("1.5e-05 and +0.25; (0.16 to 0.59)", "1,5e-05 and +0,25; (0,16 to 0,59)"),
        ("batchcal 0.1.0 on 2026-10-14 at Runs!C12", "batchcal 0.1.0 on 2026-10-14 at Runs!C12"),
        ("Sample 7.1: 7.15 of 12.1", "Sample 7.1: 7,15 of 12,1"),
        ("the text '12.5' stands where the lab's 3.5 was", "the text '12.5' stands where the lab's 3,5 was"),
        ("by Manual 2.3, part 4.5", "by Manual 2.3, part 4,5"),
        ("26-1042.5 and A1.5 and 3.5x", "26-1042.5 and A1.5 and 3.5x"),
    ],
)
def test_numbers_in_a_sentence(text: str, said: str) -> None:
    assert worded(",", ["7.1", "Manual 2.3", "no number"])(text) == said


def test_what_findings_say_holds_no_number_but_figures() -> None:
    """A clause or version number in a wording would be altered, since it is no text of the lab or of a source."""
    for kind in CATALOGUE.values():
        for text in (kind.trigger, kind.message, kind.remedy):
            for number in re.finditer(r"\d\.\d+", text):
                before = text[: number.start()].split()
                assert not before or before[-1].casefold() not in {"clause", "section", "version", "edition", "part"}, (
                    text
                )
                assert not re.search(r"(ISO|EN|ASTM|DIN|GOST)\S*[ ,]*$", text[: number.start()]), text


def test_blank_is_a_point_and_another_word_is_found() -> None:
    def with_mark(value: str) -> Evaluation:
        def change(entry: SetupEntry) -> SetupEntry:
            return replace(entry, key="decimal_mark", value=value) if entry.key == "report_rounding" else entry

        return with_settings(change, make_batch())

    assert make_evaluation().settings.decimal_mark is DecimalMark.POINT
    chosen = with_mark("Comma")
    assert chosen.settings.decimal_mark is DecimalMark.COMMA
    assert "Decimal mark" not in chosen.settings_in_force
    wrong = with_mark("dot")
    assert wrong.settings.decimal_mark is DecimalMark.POINT
    assert [f.code for f in wrong.findings if f.cell and "Decimal mark" in f.message] == ["setup-text-unfit"]


def test_the_certificate_bears_the_comma_and_says_the_same(tmp_path: Path) -> None:
    pages = {}
    for mark in ("point", "comma"):
        folder = tmp_path / mark
        folder.mkdir()
        log = complete()
        log.setup |= {"Decimal mark": (mark,), "Report unit": ("MJ/kg",), "Report rounding": (0.01,)}
        certificate(log, folder)
        pages[mark] = shown((folder / "day.certificate.html").read_text(encoding="utf-8"))
    changed = [after for before, after in zip(pages["point"], pages["comma"], strict=True) if before != after]
    assert {"24,96", "26,01", "23,66"} <= {text.strip() for text in changed}
    hashes = re.compile("[0-9a-f]{64}")
    left = [text for text in pages["comma"] if re.search(r"\d\.\d", text) and not hashes.search(text)]
    assert left == ["batchcal 0.1.0"]
