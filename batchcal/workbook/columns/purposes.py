"""Words by which a lab marks the rows of benzoic acid: found by what they look like, and always asked."""

from collections.abc import Collection, Sequence
from functools import cache
from typing import Any

from msgspec import Struct, field

from batchcal.findings import make
from batchcal.reference import headings as known
from batchcal.terms import Purpose
from batchcal.workbook.cells import CellKind
from batchcal.workbook.columns.decide import Answers, Decision
from batchcal.workbook.columns.detected import Detected
from batchcal.workbook.columns.grammar import fold, tidy
from batchcal.workbook.columns.questions import NOT_READ, Choice, Question

_SPOKEN_IN = ("sample_id", "fuel_type")
_MANY = 2
"""Words that differ in their closing number are taken together from so many on, as "BA*"."""


class Marks(Struct):
    """The words that were found, those that are open among them, and the questions."""

    words: dict[str, list[str]] = field(default_factory=dict)
    open_words: dict[str, int] = field(default_factory=dict)
    questions: list[Question] = field(default_factory=list)


def marks_of(
    table: Detected,
    columns: Sequence[Decision],
    answers: Answers,
    *,
    spoken_for: Collection[str] = (),
    titles: Sequence[str] = (),
) -> Marks:
    """Return the words of a table that may mark benzoic acid, each with what the person has said of it.

    ``spoken_for`` are words of an earlier map; ``titles`` are names of sheets, where these are sample numbers.
    """
    made = Marks()
    for word, count in _candidates(columns, titles).items():
        if word in spoken_for:
            continue
        about = f"{table.grid.title} purpose {word}"
        answer = answers.get(about)
        if answer is None:
            where: dict[str, Any] = {"sheet": table.grid.title, "row": table.heading_row}
            finding = make("purpose-open", **where, read=word, rows="1 row" if count == 1 else f"{count} rows")
            choices = (
                Choice(Purpose.CALIBRATION, "calibration: its firings make the heat capacity"),
                Choice(Purpose.CHECK, "check: found with the heat capacity in force"),
                Choice(NOT_READ, "a sample like any other"),
            )
            made.questions.append(Question(about, finding, choices))
            made.open_words[word] = count
        elif answer != NOT_READ:
            made.words.setdefault(answer, []).append(word)
    return made


def _candidates(columns: Sequence[Decision], titles: Sequence[str]) -> dict[str, int]:
    """Return the words that look like benzoic acid or its purpose, with the rows in which they stand."""
    found: dict[str, set[int]] = {tidy(title): {at} for at, title in enumerate(titles) if _marks_benzoic(title)}
    for one in columns:
        may_be = {one.key, *(choice.value for question in one.questions for choice in question.choices)}
        if may_be.isdisjoint(_SPOKEN_IN):
            continue
        for row, cell in one.seen.cells.items():
            if cell.kind is CellKind.TEXT and _marks_benzoic(str(cell.value)):
                found.setdefault(tidy(str(cell.value)), set()).add(row)
    grouped: dict[str, list[str]] = {}
    for word in found:
        grouped.setdefault(word.rstrip("0123456789 -./"), []).append(word)
    merged: dict[str, int] = {}
    for stem, members in grouped.items():
        if len(members) >= _MANY and stem:
            merged[f"{stem}*"] = sum(len(found[word]) for word in members)
        else:
            merged |= {word: len(found[word]) for word in members}
    return merged


def _marks_benzoic(text: str) -> bool:
    words = fold(text)
    return any(
        words == word or (len(word) > 3 and word in words) or words.split(" ")[0] == word for word in _known_words()
    )


@cache
def _known_words() -> tuple[str, ...]:
    return tuple(fold(word) for kind in ("benzoic", "calibration", "check") for word in known.words(kind))
