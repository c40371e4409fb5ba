"""What a column is: the lab's own map, then its words, then units and values, then the arithmetic between columns.

Nothing is guessed. A column that is not settled becomes a question; an answer to it settles it.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from batchcal import units
from batchcal.findings import make
from batchcal.reference.headings import languages
from batchcal.workbook.columns.arithmetic import Role
from batchcal.workbook.columns.column_map import OPEN, MapColumn
from batchcal.workbook.columns.evidence import (
    Seen,
    column_for,
    field_of,
    objection,
    quantity_of,
    unit_fits,
    units_that_fit,
)
from batchcal.workbook.columns.fields import BASES, FIELDS, Field, meaning, takes_basis
from batchcal.workbook.columns.grammar import strength
from batchcal.workbook.columns.questions import NOT_READ, Question, named, of_fields, plain
from batchcal.workbook.columns.records import OF_ONE_PORTION
from batchcal.workbook.columns.variants import Words

Answers = Mapping[str, str]

_SAID_BY_UNIT = frozenset({"wire_initial", "wire_left", "wire_burned", "thread_mass"})
"""Fields that some laboratories give as a length and others as a mass, so that values never settle the unit."""


class Decision(Struct):
    """What a column is found to be: ``key`` of its field, "" where it is not read; what is open is in ``questions``."""

    seen: Seen
    sheet: str
    key: str = ""
    unit: str = ""
    basis: str = ""
    decimal: str = ""
    settled: bool = True
    evidence: list[str] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)
    own: MapColumn | None = None

    @property
    def means(self) -> str:
        """The heading of the blank workbook under which it is read, "" for none, or :data:`OPEN`."""
        if self.own is not None:
            return self.own.means
        if not self.settled:
            return OPEN
        known = FIELDS.get(self.key)
        if known is None:
            return ""
        if known.by_basis and self.basis in ("", OPEN):
            return OPEN if self.basis == OPEN else ""
        return meaning(known, self.basis)

    @property
    def entry(self) -> MapColumn:
        """The column as the map has it."""
        if self.own is not None:
            return replace(self.own, note=self.note)
        means = self.means
        column = column_for(FIELDS[self.key], self.basis) if self.key and means not in ("", OPEN) else None
        read = column is not None
        return MapColumn(
            self.seen.heading.text,
            means,
            unit=self.unit if read else "",
            basis=self.basis if column is not None and column.with_basis else "",
            decimal=self.decimal if read else "",
            part=self.seen.part if read or means == OPEN else "",
            note=self.note,
        )

    @property
    def note(self) -> str:
        """A few of its values, and what speaks for what it is found to be."""
        shown = [f"e.g. {', '.join(self.seen.samples)}"] if self.seen.samples else []
        return "; ".join([*shown, *self.evidence])

    def ask(self, about: str, code: str, choices: Any, **details: Any) -> None:
        """Put a question about this column."""
        at = self.seen.address
        finding = make(code, sheet=self.sheet, row=_row(at), cell=at, read=self.seen.heading.text, **details)
        self.questions.append(Question(key_of(self.sheet, at, about), finding, tuple(choices)))


def key_of(sheet: str, address: str, about: str) -> str:
    """Return the name of a question about a column."""
    return f"{sheet}!{address} {about}"


def decide(
    seen: Seen,
    sheet: str,
    words: Words,
    role: Role | None,
    answers: Answers,
    *,
    taken: frozenset[str] = frozenset(),
    language: str = "",
) -> Decision:
    """Return what a column is, by its words, its values, and the arithmetic with other columns.

    ``taken`` are the fields that other columns are by the arithmetic; ``language`` is the one that the person has
    confirmed.
    """
    made = Decision(seen, sheet)
    answer = answers.get(key_of(sheet, seen.address, "means"))
    if answer is not None:
        made.key = "" if answer == NOT_READ else answer
        made.evidence.append("you said so")
        return made
    fields = [key for key in words.fields if key in FIELDS]
    if role is not None:
        if not fields or role.field in fields or seen.heading.short:
            made.key = role.field
            made.evidence.append(role.text)
            if role.field in words.fields:
                made.evidence.append(_words_said(words, role.field))
            return made
        _unsettled(made, [*fields, role.field])
        made.ask(
            "means", "column-values-unusual", of_fields([*fields, role.field]), fields=named(fields),
            why=f"by the figures it is the {FIELDS[role.field].name} ({role.text})",
        )  # fmt: skip
        return made
    if not fields:
        return made
    if seen.heading.short:
        _unsettled(made, fields)
        made.ask("means", "column-name-short", of_fields(fields), fields=f"; it may be {named(fields)}")
        return made
    left = [key for key in fields if key not in taken]
    if words.ambiguous and len(left) == 1 and len(fields) > 1 and not objection(seen, FIELDS[left[0]], ""):
        made.key = left[0]
        rest = named([key for key in fields if key in taken])
        made.evidence += [_words_said(words, left[0]), f"the {rest} is another column by the arithmetic"]
        return made
    if words.ambiguous:
        _unsettled(made, fields)
        made.ask("means", "column-fits-two", of_fields(fields), fields=named(fields))
        return made
    only = fields[0]
    known = FIELDS[only]
    own_unit = seen.heading.unit if unit_fits(seen.heading.unit, known) else ""
    against = objection(seen, known, own_unit)
    if not seen.heading.unit and units_that_fit(seen, known):
        against = ""  # in one unit or another the values are usual; which one is settled later
    if against and seen.heading.unit and not own_unit and quantity_of(known):
        against = f"its unit {seen.heading.unit} is not read"
    if against and meaning_of_any(known):
        _unsettled(made, fields)
        made.ask("means", "column-values-unusual", of_fields(fields), fields=known.name, why=against)
        return made
    made.key = only
    made.evidence.append(_words_said(words, only))
    checked = words.read_by_us(only) or not words.fields[only] or language in words.fields[only]
    if not checked and meaning_of_any(known):
        said = ", ".join(sorted(languages()[one].name for one in words.fields[only]))
        made.key = ""
        _unsettled(made, [only])
        made.ask("means", "column-words-unchecked", of_fields([only]), fields=known.name, language=said)
    return made


def meaning_of_any(known: Field) -> bool:
    """Whether a field is read at all."""
    return bool(known.means or known.by_basis)


def settle_unit(made: Decision, answers: Answers) -> None:
    """Find the unit of a column: in its heading, by what is possible, by its values; else ask."""
    known = FIELDS.get(made.key)
    if known is None or not made.settled or made.own is not None or not meaning_of_any(known):
        return
    answer = answers.get(key_of(made.sheet, made.seen.address, "unit"))
    if answer is not None:
        made.unit = "" if answer == NOT_READ else answer
        made.key = "" if answer == NOT_READ else made.key
        return
    named_unit = made.seen.heading.unit
    if known.key == "titrant_conc":
        made.unit = strength(named_unit) or _strength_by_name(made.seen.heading.name)
        if not made.unit:
            made.unit = OPEN
            made.ask("unit", "column-unit-open", plain(("mol/L", "eq/L")), means=known.name, why="")
        return
    quantity = quantity_of(known)
    if quantity is None:
        return
    if named_unit:
        if unit_fits(named_unit, known):
            made.unit = named_unit
        else:
            made.evidence.append(f"the unit {named_unit} is not read for it")
            made.key = ""
        return
    only = units.only(quantity)
    if only is not None and known.key not in _SAID_BY_UNIT:
        made.unit = only.text
        return
    fitting = units_that_fit(made.seen, known)
    if len(fitting) == 1 and made.seen.numbers and known.key not in _SAID_BY_UNIT:
        made.unit = fitting[0]
        made.evidence.append(f"its values allow {fitting[0]} only")
        return
    choices = fitting if len(fitting) > 1 else units.readable(quantity).split(", ")
    why = f", and its values allow {', '.join(fitting)}" if len(fitting) > 1 else ""
    made.unit = OPEN
    made.ask("unit", "column-unit-open", plain(choices, "another: carried along, not read"), means=known.name, why=why)


def settle_basis(made: Decision, answers: Answers, *, row_says: bool) -> None:
    """Find the basis of a content or result: in its heading, or in a column of its own (``row_says``); else ask."""
    known = FIELDS.get(made.key)
    if known is None or not made.settled or made.own is not None or not takes_basis(known):
        return
    answer = answers.get(key_of(made.sheet, made.seen.address, "basis"))
    if answer is not None:
        made.basis = "" if answer == NOT_READ else answer
        made.key = "" if answer == NOT_READ else made.key
        return
    made.basis = made.seen.heading.basis
    if made.basis and known.by_basis and made.basis not in known.by_basis:
        made.evidence.append(f"{known.name} on the basis {made.basis} is not compared")
        made.key = ""
    elif not made.basis and not (row_says and not known.by_basis):
        made.basis = OPEN
        choices = tuple(known.by_basis) if known.by_basis else BASES
        made.ask("basis", "column-basis-open", plain(choices, "carried along, not read"), means=known.name)


def settle_decimals(made: Decision, answers: Answers) -> None:
    """Ask what a comma marks in a column whose numbers are all typed as text with one."""
    known = FIELDS.get(made.key)
    if known is None or not made.settled or made.own is not None or known.kind != "number" or made.means == "":
        return
    if not made.seen.all_by_comma:
        return
    answer = answers.get(key_of(made.sheet, made.seen.address, "decimal"))
    if answer is not None:
        made.decimal = "" if answer == NOT_READ else ","
        return
    made.decimal = OPEN
    count = made.seen.comma_texts
    made.ask("decimal", "column-decimals-open", plain((",",), "no: leave them as text, with a finding"), count=count)


def settle_parts(made: Sequence[Decision], answers: Answers) -> None:
    """Ask which test portion a weighing or reading is of where a row has several and its heading names none."""
    parts = sorted({one.seen.part for one in made if one.seen.part})
    for one in made:
        if not parts or one.seen.part or one.own is not None or one.means not in OF_ONE_PORTION:
            continue
        answer = answers.get(key_of(one.sheet, one.seen.address, "part"))
        if answer is None:
            one.ask("part", "column-part-open", plain(parts, "none of them: carried along, not read"), means=one.means)
            one.settled = False
        elif answer == NOT_READ:
            one.key = ""
        else:
            one.seen = replace(one.seen, part=answer)


def settle_doubles(made: Sequence[Decision], answers: Answers) -> None:
    """Ask which column is meant where two are read under the same heading."""
    by_means: dict[tuple[str, str], list[Decision]] = {}
    for one in made:
        if one.means not in ("", OPEN):
            by_means.setdefault((one.means, one.seen.part), []).append(one)
    for (means, _), members in by_means.items():
        if len(members) < 2:
            continue
        first = members[0]
        answer = answers.get(key_of(first.sheet, first.seen.address, "which"))
        for one in members:
            if answer is not None:
                if one.seen.address != answer:
                    one.key, one.own = "", None
                continue
            one.settled, one.own = False, None
        if answer is None:
            others = " and ".join(f"'{one.seen.heading.text}' ({one.seen.address})" for one in members[1:])
            choices = plain([one.seen.address for one in members], "none of them")
            first.ask("which", "columns-fit-one", choices, other=others, fields=means)


def from_own_map(seen: Seen, sheet: str, entry: MapColumn) -> Decision:
    """Return what an earlier map of the lab says of a column."""
    known = field_of(entry.means)
    return Decision(
        seen, sheet, "" if known is None else known.key, entry.unit, entry.basis, entry.decimal,
        evidence=["your own map"], own=entry,
    )  # fmt: skip


def _unsettled(made: Decision, fields: Sequence[str]) -> None:
    made.settled = False
    made.evidence.append(f"may be {named(fields)}")


def _words_said(words: Words, key: str) -> str:
    names = sorted(languages()[one].name for one in words.fields.get(key, ()))
    shown = ", ".join(names[:3]) + (" and others" if len(names) > 3 else "")
    part = f", as '{words.whole}'" if words.whole else ""
    return f"heading ({shown}{part})" if shown else "heading"


def _strength_by_name(name: str) -> str:
    words = name.split()
    if words[:1] == ["n"] or "normality" in words or "normalitat" in words or "normalite" in words:
        return "eq/L"
    return "mol/L" if words[:1] == ["m"] or "molarity" in words or "molaridad" in words else ""


def _row(address: str) -> int:
    return int(address.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
