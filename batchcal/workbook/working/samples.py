"""The samples on the sheet Working, three lines each: worked out, stored, and the difference of the two."""

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from itertools import accumulate, repeat

from msgspec import Struct, field

from batchcal.model import SampleResult
from batchcal.terms import NET_BASES, Basis
from batchcal.workbook.targets import Targets, to_log
from batchcal.workbook.working.alike import Answer, Marks, same
from batchcal.workbook.working.body import LAST, RESULT, Body, Form, Line, Texts
from batchcal.workbook.working.constants import Constants, Ground
from batchcal.workbook.working.contents import Contents
from batchcal.workbook.working.figures import Column
from batchcal.workbook.working.firings import COMPARED, Compared
from batchcal.workbook.working.group import AT_ONCE, of_each, rows_of, write_together
from batchcal.workbook.working.live import (
    NOTHING,
    Live,
    Spans,
    average,
    closest_gap,
    closest_mean,
    count,
    largest,
    median,
    relative_difference,
    spread,
)
from batchcal.workbook.xlsx.links import Link

_GROSS = {Basis.AS_ANALYSED: "M", Basis.DRY: "N", Basis.AS_RECEIVED: "O", Basis.DRY_ASH_FREE: "P"}
_NET_PRESSURE = dict(zip(NET_BASES, "QRS", strict=True))
_NET_VOLUME = dict(zip(NET_BASES, "TUV", strict=True))

HEADINGS = {
    "A": "Sample no.", "B": "Line", "C": "Value, decision", "D": "Firings", "E": "Range (J/g)", "F": "Limit (J/g)",
    "G": "Moisture, ad (%)", "H": "Moisture, total (%)", "I": "Ash, ad (%)", "J": "H, d (%)", "K": "O, d (%)",
    "L": "N, d (%)", "M": "Gross, ad (J/g)", "N": "Gross, d (J/g)", "O": "Gross, ar (J/g)", "P": "Gross, daf (J/g)",
    "Q": "Net p, ad (J/g)", "R": "Net p, d (J/g)", "S": "Net p, ar (J/g)", "T": "Net V, ad (J/g)",
    "U": "Net V, d (J/g)", "V": "Net V, ar (J/g)", LAST: "Relative difference",
}  # fmt: skip
"""Headings of the lines of samples; p is constant pressure, V constant volume."""

_FACTORS = {3: "further-test-factor-3", 4: "further-test-factor-4"}


class _Group(Struct, frozen=True):
    """Samples that are written together, three lines each or one."""

    samples: Sequence[SampleResult]
    compared: Sequence[Compared]
    """Nothing where a sample has no firings to compare."""
    marks: Marks
    worked_out: Line
    stored: Line
    difference: Line
    kept: list[Live] = field(default_factory=list)
    """The differences of the results."""

    def ask(self, question: Callable[[SampleResult], Answer]) -> Answer:
        """Return what all samples answer."""
        return same(list(map(question, self.samples)))

    def texts(self, question: Callable[[SampleResult], str]) -> Texts:
        """Return one text of every sample."""
        return Texts(list(map(question, self.samples)))

    def number(self, question: Callable[[SampleResult], float | None]) -> Column | None:
        """Return one figure of every sample, or None where there is none."""
        figures = list(map(question, self.samples))
        if same([figure is None for figure in figures]):
            return None
        return Column(figure or 0.0 for figure in figures)

    def cells(self, letter: str, values: Sequence[Sequence[float]]) -> Spans:
        """Return the cells of a column in the rows of the firings that were compared."""
        same([len(each) for each in values])
        first, last = (self.marks.texts([str(each.rows[end]) for each in self.compared]) for end in (0, 1))
        return Spans(f"{letter}{first}:{letter}{last}", values)

    def result(self, letter: str, found: Live, stored: Column, scale: Live | None = None) -> Live:
        """Fill a column with a result, what is stored, and their difference; returns the cell of the result."""
        cell = self.worked_out.put(letter, found, Form.SAMPLE)
        self.stored.write(letter, stored, Form.SAMPLE_STORED)
        kept = Live(f"{letter}{self.stored.number}", stored)
        self.kept.append(self.difference.put(letter, relative_difference(cell, kept, scale), Form.DIFFERENCE))
        return cell


def write_samples(body: Body, ground: Ground, compared: Mapping[str, Compared], targets: Targets) -> None:
    """Write the lines of every sample, and note in ``targets`` where they begin."""
    samples = ground.evaluation.samples
    if not samples:
        return
    body.section(
        "Samples",
        "Each from the results of its firings above. The difference of a range or limit is taken as a part of the "
        "value compared; p: at constant pressure, V: at constant volume.",
    )
    for start in range(0, len(samples), AT_ONCE):
        some = samples[start : start + AT_ONCE]
        _write_some(body, ground, some, [compared.get(sample.sample) for sample in some], targets)


def _write_some(
    body: Body,
    ground: Ground,
    samples: Sequence[SampleResult],
    compared: Sequence[Compared | None],
    targets: Targets,
) -> None:
    lengths = [_lines(sample, each) for sample, each in zip(samples, compared, strict=True)]
    numbers = [body.next + before for before in accumulate(lengths, initial=0)][:-1]
    targets.working.update({sample.sample: number for sample, number in zip(samples, numbers, strict=True)})
    leads = body.lead(cell for pair in map(_links, samples, numbers, repeat(targets)) for cell in pair)
    to_rows, to_results = leads[::2], leads[1::2]

    def write_group(positions: Sequence[int], marks: Marks) -> Sequence[Line]:
        length = same([lengths[position] for position in positions])
        found = [each for each in map(compared.__getitem__, positions) if each is not None]
        same([compared[position] is None for position in positions])
        first, second, third = (
            Line(marks.texts([str(numbers[position] + n) for position in positions]), ruled=True) for n in range(3)
        )
        group = _Group([samples[position] for position in positions], found, marks, first, second, third)
        leads = same([to_rows[position] for position in positions])
        first.write("A", group.texts(lambda sample: sample.sample), Form.LINK if leads else Form.STRONG)
        leads = same([to_results[position] for position in positions])
        first.write("C", group.texts(_in_short), Form.LINK if leads else Form.TEXT)
        _write(group, ground)
        return [first, second, third][:length]

    write_together(body, len(samples), write_group)


def _links(sample: SampleResult, number: int, targets: Targets) -> tuple[tuple[str, Link | None], ...]:
    """Return the cells of a sample that lead somewhere: to its row of the log if there is one, and to its results."""
    row = sample.row
    return (
        (f"A{number}", None if row is None else to_log(row.place, "sample")),
        (f"C{number}", targets.result(sample.sample)),
    )


def _lines(sample: SampleResult, compared: Compared | None) -> int:
    """Return how many lines a sample takes: three where a result stands beside what is stored."""
    if compared is None:
        return 1
    judged = compared.on_basis is not None and sample.range_J_per_g is not None
    return 3 if judged or sample.gross_J_per_g.get(Basis.AS_ANALYSED) is not None else 1


def _write(group: _Group, ground: Ground) -> None:
    constants, line = ground.constants, group.worked_out
    group.stored.write("C", group.texts(lambda sample: str(sample.decision)), Form.TEXT)
    for each, words in ((line, "worked out"), (group.stored, "stored"), (group.difference, "difference")):
        each.write("B", words, Form.TEXT)
    if not group.compared:
        line.write("D", group.texts(_no_value), Form.TEXT)
        return
    as_analysed = group.cells(RESULT, [each.as_analysed for each in group.compared])
    line.put("D", count(as_analysed), Form.COUNT)
    _agreement(group, constants)
    gross = group.number(lambda sample: sample.gross_J_per_g.get(Basis.AS_ANALYSED))
    if gross is None:
        line.write("G", group.texts(_no_value), Form.TEXT)
    else:
        found = group.result(_GROSS[Basis.AS_ANALYSED], _statistic(as_analysed, group), gross)
        contents = Contents.of(rows_of([sample.row for sample in group.samples], group.marks), ground.inputs)
        dry = _other_bases(group, contents, found)
        known = group.ask(lambda sample: sample.net.known)
        hydrogen = contents.hydrogen(constants)
        if known and hydrogen is not None and dry is not None:
            _net(group, contents, constants, dry=dry, hydrogen=hydrogen)
        elif known:
            _net_of_liquid(group, constants, found)
    if group.kept:
        rows = list(zip(*(of_each(part, len(group.samples)) for part in group.kept), strict=True))
        number = group.difference.number
        group.difference.difference(largest(Spans(f"E{number}:V{number}", rows)))


def _no_value(sample: SampleResult) -> str:
    return f"no value: {sample.why}"


def _in_short(sample: SampleResult) -> str:
    """Return which statistic the values are, in as many words as its column holds; the decision where there is none."""
    short = sample.statistic.removesuffix(", not judged").replace("mean of the closest", "closest")
    return short or str(sample.decision)


def _agreement(group: _Group, constants: Constants) -> None:
    """Fill range and limit."""
    on_basis = [each.on_basis for each in group.compared if each.on_basis is not None]
    same([each.on_basis is None for each in group.compared])
    found = group.number(lambda sample: sample.range_J_per_g)
    if not on_basis or found is None:
        return
    cells = group.cells(COMPARED, on_basis)
    closest = group.ask(_closest_two)
    scale = largest(cells)
    group.result("E", closest_gap(cells) if closest else spread(cells), found, scale)
    stored = group.number(lambda sample: sample.limit_J_per_g)
    if stored is not None:
        limit = constants["repeatability_limit"]
        if not closest and cells.length in _FACTORS:
            limit = limit * constants[_FACTORS[cells.length]]
        group.result("F", limit, stored, scale)


def _closest_two(sample: SampleResult) -> bool:
    """Whether the two closest of more firings make the value: no other rule leaves one out."""
    return sample.n_used < len(sample.counted)


def _statistic(cells: Spans, group: _Group) -> Live:
    if group.ask(_closest_two):
        return closest_mean(cells)
    return median(cells) if group.ask(lambda sample: sample.statistic.startswith("median")) else average(cells)


def _other_bases(group: _Group, contents: Contents, found: Live) -> Live | None:
    """Fill the gross values on other bases; returns the cell of the dry one."""
    moisture, line = contents.moisture, group.worked_out
    if moisture is None:
        return None
    moisture = line.put("G", moisture, Form.HEAT)

    def stored(basis: Basis) -> Column | None:
        return group.number(lambda sample: sample.gross_J_per_g.get(basis))

    dry = None
    value = stored(Basis.DRY)
    if value is not None:
        dry = group.result(_GROSS[Basis.DRY], found * 100 / (100 - moisture), value)
    value = stored(Basis.AS_RECEIVED)
    if value is not None and contents.total_moisture is not None:
        total = line.put("H", contents.total_moisture, Form.HEAT)
        group.result(_GROSS[Basis.AS_RECEIVED], found * (100 - total) / (100 - moisture), value)
    value = stored(Basis.DRY_ASH_FREE)
    if value is not None and contents.ash is not None:
        ash = line.put("I", contents.ash, Form.HEAT)
        group.result(_GROSS[Basis.DRY_ASH_FREE], found * 100 / (100 - moisture - ash), value)
    return dry


def _net(group: _Group, contents: Contents, constants: Constants, *, dry: Live, hydrogen: Live) -> None:
    """Fill the net values at constant pressure and volume."""
    line = group.worked_out
    nitrogen = contents.dry("nitrogen")
    hydrogen_cell = line.put("J", hydrogen, Form.FOUR)
    oxygen_cell = line.put("K", contents.oxygen(hydrogen_cell, nitrogen), Form.FOUR)
    nitrogen_cell = line.put("L", nitrogen or NOTHING, Form.FOUR)
    total = contents.total_moisture
    moistures = {
        Basis.AS_ANALYSED: Live(f"G{line.number}", contents.moisture.value) if contents.moisture is not None else None,
        Basis.DRY: None,
        Basis.AS_RECEIVED: Live(f"H{line.number}", total.value) if total is not None else None,
    }
    burnt = {
        "pressure": dry
        - constants["net-hydrogen-constant-pressure"] * hydrogen_cell
        - constants["net-oxygen-constant-pressure"] * oxygen_cell
        - constants["net-nitrogen-constant-pressure"] * nitrogen_cell,
        "volume": dry - constants["net-hydrogen-constant-volume"] * hydrogen_cell,
    }
    for way, letters, values in (
        ("pressure", _NET_PRESSURE, _at_constant_pressure),
        ("volume", _NET_VOLUME, _at_constant_volume),
    ):
        for basis, letter in letters.items():
            stored, moisture = group.number(partial(values, basis)), moistures[basis]
            if stored is None:
                continue
            found = burnt[way]
            if moisture is not None:
                found = found * (1 - moisture / 100) - constants[f"net-moisture-constant-{way}"] * moisture
            group.result(letter, found, stored)


def _at_constant_pressure(basis: Basis, sample: SampleResult) -> float | None:
    return sample.net.constant_pressure.get(basis)


def _at_constant_volume(basis: Basis, sample: SampleResult) -> float | None:
    return sample.net.constant_volume.get(basis)


def _net_of_liquid(group: _Group, constants: Constants, gross: Live) -> None:
    """Fill the net value that is estimated for a petroleum liquid whose hydrogen is not known."""
    stored = group.number(partial(_at_constant_pressure, Basis.AS_ANALYSED))
    if stored is not None:
        intercept, slope = constants["liquid-net-intercept"], constants["liquid-net-slope"]
        group.result(_NET_PRESSURE[Basis.AS_ANALYSED], 1000 * (intercept + slope * gross / 1000), stored)
