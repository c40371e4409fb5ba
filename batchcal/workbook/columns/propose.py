"""A map proposed for a lab's own sheets, with its evidence, and the questions that only a person can answer."""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from batchcal.findings import make
from batchcal.reference.headings import languages
from batchcal.terms import Titrant
from batchcal.workbook.columns.arithmetic import Role, roles
from batchcal.workbook.columns.column_map import (
    ANY_FIRING,
    ANY_SHEET,
    OPEN,
    ColumnMap,
    MapColumn,
    MapSetup,
    MapTable,
    MapText,
)
from batchcal.workbook.columns.decide import (
    Answers,
    Decision,
    decide,
    from_own_map,
    meaning_of_any,
    settle_basis,
    settle_decimals,
    settle_doubles,
    settle_parts,
    settle_unit,
)
from batchcal.workbook.columns.detect import detect
from batchcal.workbook.columns.detected import Detected, titled
from batchcal.workbook.columns.evidence import own_map_entry
from batchcal.workbook.columns.fields import FIELDS, Holds, columns_of
from batchcal.workbook.columns.labels import Labels, of_labels
from batchcal.workbook.columns.purposes import marks_of
from batchcal.workbook.columns.questions import NOT_READ, Choice, Question, plain
from batchcal.workbook.columns.records import INPUTS
from batchcal.workbook.columns.variants import languages_of, look_up
from batchcal.workbook.foreign.csv_form import CsvForm, CsvQuestion
from batchcal.workbook.grid import Grid

_TITRANTS = (
    ("na2co3", Titrant.SODIUM_CARBONATE),
    ("carbonate", Titrant.SODIUM_CARBONATE),
    ("naoh", Titrant.SODIUM_HYDROXIDE),
    ("koh", Titrant.POTASSIUM_HYDROXIDE),
    ("ba oh 2", Titrant.BARIUM_HYDROXIDE),
)
"""Formulas in headings that name the titrant."""

MOST_OF = 3
"""Headings that must be in a language, and more than half of those that are known, for it to be asked."""

_TITRES = frozenset({"Titre", "Burette end"})


class Shown(Struct, frozen=True):
    """One line of a proposal: a column or label, what it is read as, a few of its values, and the evidence."""

    sheet: str
    address: str
    heading: str
    means: str
    samples: tuple[str, ...]
    evidence: str


class Proposal(Struct, frozen=True):
    """A map with what is open in it; ``without_table`` are the sheets in which nothing was recognised."""

    column_map: ColumnMap
    shown: tuple[Shown, ...]
    questions: tuple[Question, ...]
    without_table: tuple[str, ...] = ()


class _Making(Struct):
    """What has been gathered of the tables so far."""

    answers: Answers
    earlier: ColumnMap | None
    tables: list[MapTable] = field(default_factory=list)
    setup: list[MapSetup] = field(default_factory=list)
    words: dict[str, list[str]] = field(default_factory=dict)
    open_words: dict[str, int] = field(default_factory=dict)
    shown: list[Shown] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)
    language: str = ""
    doubtful: set[str] = field(default_factory=set)
    """Sheets of which it is open what they hold."""


def propose(grids: Sequence[Grid], answers: Answers | None = None, earlier: ColumnMap | None = None) -> Proposal:
    """Return what a lab's own sheets are found to be; ``answers`` by question, ``earlier``: a map of the same lab.

    The same sheets and answers give the same proposal; each answer may settle other questions as well.
    """
    making = _Making(answers or {}, earlier)
    detected = detect(grids)
    making.language = _language(detected, making)
    for table in detected:
        _add_table(table, making)
    covered = {title for table in detected for title in (table.grid.title, *table.more_sheets)}
    without = tuple(grid.title for grid in grids if grid.rows and grid.title not in covered)
    setup = list({entry.item: entry for entry in [*(earlier.setup if earlier else ()), *making.setup]}.values())
    words = {word: tuple(said) for word, said in (earlier.words if earlier else {}).items()}
    words |= {word: tuple(said) for word, said in making.words.items()}
    notes = {}
    if making.open_words:
        doubtful = ", ".join(f"'{word}' in {count} rows" for word, count in making.open_words.items())
        words["calibration"] = (*words.get("calibration", ()), OPEN)
        notes["calibration"] = f"{doubtful}: put each here, under check = [...], or nowhere if it is a sample"
    column_map = ColumnMap(tuple(making.tables), tuple(setup), words, notes, making.language)
    return Proposal(column_map, tuple(making.shown), tuple(making.questions), without)


def _language(detected: Sequence[Detected], making: _Making) -> str:
    """Return the language that the person has confirmed; asks for one that nobody here has checked."""
    if making.earlier is not None and making.earlier.language not in ("", OPEN):
        return making.earlier.language
    known = [words for table in detected for seen in table.columns if (words := look_up(seen.heading)).fields]
    count: Counter[str] = Counter(key for words in known for key in languages_of(words))
    doubtful = [words for words in known if not any(words.read_by_us(key) for key in words.fields)]
    if not doubtful:
        return ""
    best, hits = max(count.items(), key=lambda item: item[1])
    if languages()[best].read_by_us or hits < MOST_OF or 2 * hits <= len(known):
        return ""
    answer = making.answers.get("language")
    if answer is None:
        where: dict[str, Any] = {"sheet": detected[0].grid.title, "row": detected[0].heading_row}
        finding = make("language-open", **where, count=hits, of=len(known), language=languages()[best].name)
        choices = (Choice(best, "yes, as proposed"), Choice(NOT_READ, "no: ask one by one"))
        making.questions.append(Question("language", finding, choices))
        return OPEN
    return "" if answer == NOT_READ else answer


def _add_table(table: Detected, making: _Making) -> None:
    sheet = table.grid.title
    if table.shape == "curves":
        _add_curves(table, making)
        return
    words = {at: look_up(seen.heading, making.language.strip(OPEN)) for at, seen in enumerate(table.columns)}
    own = _own_entries(table, making.earlier)
    found = roles(table.columns, {at: frozenset(one.fields) for at, one in words.items()})
    made: list[Decision] = []
    for at, seen in enumerate(table.columns):
        entry = own_map_entry(own, seen)
        if entry is not None:
            made.append(from_own_map(seen, sheet, entry))
        else:
            made.append(
                decide(
                    seen,
                    sheet,
                    words[at],
                    found.get(at),
                    making.answers,
                    taken=_taken(table, found, at),
                    language=making.language,
                )
            )
    holds = _calibration(table, _holds(made), making)
    for one in made:
        _keep_to(one, holds)
    row_says = any(one.key == "basis" or one.means == "Basis" for one in made)
    for one in made:
        settle_unit(one, making.answers)
        settle_basis(one, making.answers, row_says=row_says)
        settle_decimals(one, making.answers)
    settle_parts(made, making.answers)
    settle_doubles(made, making.answers)
    labels = of_labels(table, made, making.answers, frozenset(columns_of(holds)))
    making.setup += labels.setup
    entries = tuple(one.entry for one in made)
    every_row = _every_row(table, made, labels, making) if holds in ("firings", "calibration", "titration") else {}
    spoken_for = {word for said in (making.earlier.words.values() if making.earlier else ()) for word in said}
    sheet_is = _sheet_is(table, entries, holds, making)
    titles = [table.grid.title, *table.more_sheets] if sheet_is == "Sample no." else []
    marks = marks_of(table, made, making.answers, spoken_for=spoken_for, titles=titles)
    for word, said in marks.words.items():
        making.words.setdefault(word, []).extend(text for text in said if text not in making.words.get(word, []))
    making.open_words |= marks.open_words
    making.tables.append(
        MapTable(
            ANY_SHEET if table.more_sheets else sheet,
            "?" if sheet in making.doubtful else holds,
            table.shape,
            entries,
            table.levels,
            tuple(labels.above),
            every_row,
            table.tests,
            table.skip,
            sheet_is,
        )
    )
    making.questions += [
        *(question for one in made for question in one.questions), *labels.questions, *marks.questions,
    ]  # fmt: skip
    making.shown += [_shown(one, entry) for one, entry in zip(made, entries, strict=True)]
    making.shown += [Shown(sheet, at, text, means, values, why) for at, text, means, why, values in labels.shown]


def _taken(table: Detected, found: Mapping[int, Role], at: int) -> frozenset[str]:
    """Return the fields that other columns of the same test portion are by the arithmetic."""
    part = table.columns[at].part
    return frozenset(role.field for other, role in found.items() if other != at and table.columns[other].part == part)


def _shown(one: Decision, entry: MapColumn) -> Shown:
    means = entry.means or "not read"
    if entry.means == OPEN or entry.is_open:
        means = f"? {entry.means if entry.means != OPEN else ''}".strip()
    details = ", ".join(text for text in (entry.basis, entry.unit) if text not in ("", OPEN))
    part = f" [{entry.part}]" if entry.part else ""
    shown = f"{means} ({details}){part}" if details else f"{means}{part}"
    evidence = "; ".join(one.evidence)
    if not entry.means and one.key and FIELDS[one.key].name:
        evidence = f"known as {FIELDS[one.key].name}, not read here; {evidence}"
    return Shown(one.sheet, one.seen.address, one.seen.heading.text, shown, one.seen.samples, evidence)


def _own_entries(table: Detected, earlier: ColumnMap | None) -> list[MapColumn]:
    if earlier is None:
        return []
    return [entry for one in earlier.tables if one.sheet in (table.grid.title, ANY_SHEET) for entry in one.headings]


def _holds(made: Sequence[Decision]) -> Holds:
    keys = {one.key for one in made} | {choice.value for one in made for q in one.questions for choice in q.choices}
    means = {one.means for one in made} | {FIELDS[key].means for key in keys if key in FIELDS}
    if not INPUTS.isdisjoint(means):
        return "firings"
    if "Time" in means and "Temperature" in means:
        return "readings"
    return "titration" if not _TITRES.isdisjoint(means) else "samples"


def _keep_to(one: Decision, holds: Holds) -> None:
    """Leave a column unread that a table of this kind has not; a result beside a sample is the mean of its firings."""
    if holds == "samples" and one.key == "gross_cv" and one.own is None:
        one.key = "mean"
    known = FIELDS.get(one.key)
    names = columns_of(holds)
    if one.own is not None and one.own.means not in ("", OPEN, *names):
        one.own, one.key = None, ""
    elif known is not None and meaning_of_any(known) and not {known.means, *known.by_basis.values()} & set(names):
        one.evidence.append(f"{known.name} has no place in a table of {holds}")
        one.key = ""


def _calibration(table: Detected, holds: Holds, making: _Making) -> Holds:
    """Ask whether all rows of a sheet of that name make the heat capacity."""
    if holds != "firings" or not titled(table.grid.title, "calibration"):
        return holds
    about = f"{table.grid.title} holds"
    answer = making.answers.get(about)
    if answer is None:
        where: dict[str, Any] = {"sheet": table.grid.title, "row": table.heading_row}
        finding = make("purpose-open", **where, read=table.grid.title, rows="the name of the sheet")
        choices = (
            Choice("calibration", "calibration: all its rows make the heat capacity"),
            Choice("firings", "no: what a row is for stands in the row"),
        )
        making.questions.append(Question(about, finding, choices))
        making.doubtful.add(table.grid.title)
        return holds
    return "calibration" if answer == "calibration" else "firings"


def _every_row(table: Detected, made: Sequence[Decision], labels: Labels, making: _Making) -> dict[str, Any]:
    """Return what holds for every row of titres and stands in no column: the titrant, its strength."""
    means = {one.means for one in made} | {entry.means for entry in labels.above}
    if _TITRES.isdisjoint(means):
        return {}
    found: dict[str, Any] = {}
    where: dict[str, Any] = {"sheet": table.grid.title, "row": table.heading_row}
    if "Titrant" not in means:
        named = {titrant for sign, titrant in _TITRANTS for one in made if sign in one.seen.heading.name}
        named |= {titrant for sign, titrant in _TITRANTS for entry in labels.above if sign in entry.heading.casefold()}
        about = f"{table.grid.title} titrant"
        answer = making.answers.get(about)
        if answer is not None:
            found |= {} if answer == NOT_READ else {"Titrant": answer}
        elif len(named) == 1:
            found["Titrant"] = str(named.pop())
        else:
            found["Titrant"] = OPEN
            finding = make("titrant-open", **where, what="the titrant")
            choices = plain([str(titrant) for titrant in Titrant], "none of these")
            making.questions.append(Question(about, finding, choices))
    if "Concentration" not in means and OPEN not in means:
        about = f"{table.grid.title} strength"
        answer = making.answers.get(about)
        if answer is None:
            found |= {"Concentration": OPEN, "Concentration unit": "mol/L"}
            finding = make("titrant-open", **where, what="its strength in mol/L")
            making.questions.append(Question(about, finding))
        elif answer != NOT_READ:
            found |= {"Concentration": float(answer), "Concentration unit": "mol/L"}
    return found


def _sheet_is(table: Detected, entries: Sequence[MapColumn], holds: Holds, making: _Making) -> str:
    """Return what the sheet's name is, where a number that is needed stands on no column."""
    needed = {"firings": "Sample no.", "readings": "Firing no."}.get(holds, "")
    if not needed or any(entry.means in (needed, OPEN) for entry in entries):
        return ""
    about = f"{table.grid.title} name"
    answer = making.answers.get(about)
    if answer is None:
        names = ", ".join((table.grid.title, *table.more_sheets)[:4])
        finding = make("sheet-name-open", sheet=table.grid.title, names=names, what=needed)
        making.questions.append(Question(about, finding, (Choice(needed, "yes"), Choice(NOT_READ, "no"))))
        return OPEN
    return "" if answer == NOT_READ else answer


def _add_curves(table: Detected, making: _Making) -> None:
    """Add a sheet of readings with minutes down and a column a firing."""
    first = table.columns[0]
    unit = first.heading.unit if first.heading.unit in ("min", "s") else "min"
    warm = next(seen for seen in table.columns[1:] if seen.numbers)
    entries = (
        MapColumn(first.heading.text, "Time", unit=unit, note=f"e.g. {', '.join(first.samples)}; ascending"),
        MapColumn(ANY_FIRING, "Temperature", unit="°C", note=f"e.g. {', '.join(warm.samples)}; one column a firing"),
    )
    making.tables.append(MapTable(table.grid.title, "readings", "curves", entries))
    sheet = table.grid.title
    making.shown.append(
        Shown(sheet, first.address, first.heading.text, f"Time ({unit})", first.samples, "ascending times")
    )
    making.shown += [
        Shown(sheet, seen.address, seen.heading.text, "Temperature (°C) of that firing", seen.samples, "readings")
        for seen in table.columns[1:]
    ]


def of_text(proposal: Proposal, form: CsvForm) -> Proposal:
    """Return the proposal for a table of text: its one sheet has the file's name, which changes from day to day."""
    made = proposal.column_map
    text = MapText(form.encoding or "", form.delimiter or "", form.decimal or "", form.date or "")
    tables = tuple(replace(table, sheet=ANY_SHEET) for table in made.tables)
    setup = tuple(replace(entry, sheet="") for entry in made.setup)
    return replace(proposal, column_map=replace(made, tables=tables, setup=setup, text=text))


def of_questions(question: CsvQuestion) -> ColumnMap:
    """Return the beginning of a map that asks how a table of text is written."""
    known = question.known
    entries = {"encoding": known.encoding or "", "delimiter": known.delimiter or "", "decimal": known.decimal or ""}
    asked = {one.key: one for one in question.questions}
    notes = {str(key): f"{' or '.join(map(repr, one.choices))}: {one.why}" for key, one in asked.items()}
    return ColumnMap((), text=MapText(**(entries | dict.fromkeys(asked, OPEN)), notes=notes))
