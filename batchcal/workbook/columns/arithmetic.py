"""Three columns of which one is the difference of the others: the strongest evidence of what they are.

Crucible with sample less crucible is the mass; final less initial temperature is the rise. Three columns for which
that holds in nine rows of ten cannot be mislabelled by accident.
"""

from collections.abc import Mapping, Sequence
from itertools import permutations

from msgspec import Struct

from batchcal.workbook.columns.evidence import Seen, unit_fits
from batchcal.workbook.columns.fields import FIELDS

MOST = 0.9
"""Share of the rows in which the difference must hold."""

FEWEST = 3
"""Rows without which nothing is concluded."""

WIDE = 60
"""Columns of numbers among which all triples are tried."""


class Kind(Struct, frozen=True):
    """Three fields of which the first less the second is the third, and where the second and third usually lie.

    ``alone``: figures and decimals of this look need no word of any heading to be told.
    """

    fields: tuple[str, str, str]
    second: tuple[float, float]
    third: tuple[float, float]
    places: tuple[int, int]
    alone: bool = False


KINDS = (
    Kind(("crucible_plus_sample", "crucible_mass", "sample_mass"), (2.5, 45.0), (0.2, 2.0), (4, 6), alone=True),
    Kind(("final_temp", "initial_temp", "rise"), (10.0, 40.0), (0.3, 6.0), (2, 3), alone=True),
    Kind(("final_temp", "initial_temp", "rise"), (10.0, 40.0), (0.3, 6.0), (1, 4)),
    Kind(("crucible_plus_sample", "crucible_mass", "sample_mass"), (2.5, 45.0), (0.2, 2.0), (2, 6)),
    Kind(("burette_end", "burette_start", "titre"), (0.0, 50.0), (0.0, 50.0), (0, 3)),
    Kind(("wire_initial", "wire_left", "wire_burned"), (0.0, 20.0), (0.0, 20.0), (0, 2)),
    Kind(("rise_corrected", "rise", "heat_exchange_corr"), (0.3, 6.0), (-0.2, 0.2), (2, 6)),
)
"""Where masses have four decimals and temperatures two or three, the two are told apart; common practice, no source."""


class Role(Struct, frozen=True):
    """What a column is by the arithmetic, and in how many rows it holds."""

    field: str
    text: str


def roles(columns: Sequence[Seen], words: Mapping[int, frozenset[str]]) -> dict[int, Role]:
    """Return, by position, what columns are by the differences between them; nothing where two differences contradict.

    ``words`` are the fields that the words of each heading allow, empty where they say nothing.
    """
    numeric = [at for at, seen in enumerate(columns) if len(seen.numbers) >= FEWEST][:WIDE]
    found: dict[int, list[Role]] = {}
    for first, second, third in permutations(numeric, 3):
        if len({columns[at].part for at in (first, second, third)} - {""}) > 1:
            continue
        held, rows = _held(columns[first], columns[second], columns[third])
        if rows < FEWEST or held < MOST * rows:
            continue
        for kind in KINDS:
            members = (first, second, third)
            if not _like(kind, [columns[at] for at in members]) or not _allowed(kind, members, columns, words):
                continue
            names = [columns[at].address for at in members]
            text = f"{names[0]} − {names[1]} = {names[2]} in {held} of {rows} rows"
            for at, field in zip(members, kind.fields, strict=True):
                found.setdefault(at, []).append(Role(field, text))
            break
    return {at: entries[0] for at, entries in found.items() if len({entry.field for entry in entries}) == 1}


def _held(first: Seen, second: Seen, third: Seen) -> tuple[int, int]:
    one, two, three = first.numbers, second.numbers, third.numbers
    shared = [row for row in three if row in one and row in two]
    if (
        len(shared) < FEWEST
        or len({three[row] for row in shared}) < 2
        or len({two[row] for row in shared} | {one[row] for row in shared}) < 3
    ):
        return 0, len(shared)
    slack = 0.51 * 10.0 ** -min(third.places, max(first.places, second.places)) + 1e-9
    return sum(abs(one[row] - two[row] - three[row]) <= slack for row in shared), len(shared)


def _like(kind: Kind, members: Sequence[Seen]) -> bool:
    """Whether the middle of the second and third column lies where the kind has them, with its decimals."""
    second, third = members[1].middle, members[2].middle
    places = max(seen.places for seen in members)
    return (
        kind.second[0] <= second <= kind.second[1]
        and kind.third[0] <= third <= kind.third[1]
        and kind.places[0] <= places <= kind.places[1]
    )


def _allowed(kind: Kind, members: Sequence[int], columns: Sequence[Seen], words: Mapping[int, frozenset[str]]) -> bool:
    """Whether units and words allow the kind: a word for it, or figures that tell alone; none against it.

    Where the figures tell alone and words of two columns agree, the word of the third may contradict: that is asked.
    """
    support = against = 0
    for at, field in zip(members, kind.fields, strict=True):
        unit = columns[at].heading.unit
        if unit and not unit_fits(unit, FIELDS[field]) and not (field == "wire_burned" and unit in ("cm", "mm")):
            return False
        said = words.get(at, frozenset())
        support += field in said
        against += bool(said) and field not in said and not columns[at].heading.short
    if against:
        return kind.alone and against == 1 and support == 2
    return kind.alone or support >= 1
