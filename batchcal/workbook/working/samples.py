"""The samples on the sheet Working, three lines each: worked out, stored, and the difference of the two."""

from collections.abc import Mapping
from dataclasses import dataclass

from batchcal.model import SampleResult
from batchcal.terms import NET_BASES, Basis
from batchcal.workbook.targets import Targets
from batchcal.workbook.working.body import LAST, Body, Form, Line
from batchcal.workbook.working.constants import Constants, Ground
from batchcal.workbook.working.contents import Contents
from batchcal.workbook.working.firings import Compared
from batchcal.workbook.working.live import (
    NOTHING,
    Live,
    Span,
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


@dataclass(slots=True)
class _Lines:
    """The three lines of one sample in the making; ``kept`` are the results whose difference is taken."""

    worked_out: Line
    stored: Line
    difference: Line
    kept: list[Live]

    def result(self, letter: str, found: Live, stored: float, scale: Live | None = None) -> Live:
        """Fill a column with a result, what is stored, and their difference; returns the cell of the result."""
        cell = self.worked_out.put(letter, found, Form.SAMPLE)
        self.stored.write(letter, stored, Form.SAMPLE_STORED)
        kept = Live(f"{letter}{self.stored.number}", stored)
        self.kept.append(self.difference.put(letter, relative_difference(cell, kept, scale), Form.DIFFERENCE))
        return cell


def write_samples(body: Body, ground: Ground, compared: Mapping[str, Compared], targets: Targets) -> None:
    """Write the lines of every sample, and note in ``targets`` where they begin."""
    if not ground.evaluation.samples:
        return
    body.section(
        "Samples",
        "Each from the results of its firings above. The difference of a range or limit is taken as a part of the "
        "value compared; p: at constant pressure, V: at constant volume.",
    )
    for sample in ground.evaluation.samples:
        targets.working[sample.sample] = body.next
        _write(body, ground, sample, compared.get(sample.sample), targets.result(sample.sample))


def _write(body: Body, ground: Ground, sample: SampleResult, compared: Compared | None, result: Link) -> None:
    first, constants = body.next, ground.constants
    worked_out, stored, difference = (Line(first + n, ruled=True) for n in range(3))
    lines = _Lines(worked_out, stored, difference, [])
    if sample.row is not None:
        body.link(lines.worked_out, "A", sample.sample, sample.row.place, "sample")
    else:
        lines.worked_out.write("A", sample.sample, Form.STRONG)
    body.lead(lines.worked_out, "C", _in_short(sample) or str(sample.decision), result, Form.TEXT)
    lines.stored.write("C", str(sample.decision), Form.TEXT)
    for line, words in (
        (lines.worked_out, "worked out"), (lines.stored, "stored"), (lines.difference, "difference"),
    ):  # fmt: skip
        line.write("B", words, Form.TEXT)
    if compared is None:
        lines.worked_out.write("D", f"no value: {sample.why}", Form.TEXT)
        body.add(lines.worked_out)
        return
    lines.worked_out.put("D", count(compared.as_analysed), Form.COUNT)
    _agreement(lines, sample, compared, constants)
    gross = sample.gross_J_per_g.get(Basis.AS_ANALYSED)
    if gross is None:
        lines.worked_out.write("G", f"no value: {sample.why}", Form.TEXT)
    else:
        found = lines.result(_GROSS[Basis.AS_ANALYSED], _statistic(compared.as_analysed, sample), gross)
        contents = Contents.of(sample.row, ground.inputs)
        dry = _other_bases(lines, sample, contents, found)
        hydrogen = contents.hydrogen(constants)
        if sample.net.known and hydrogen is not None and dry is not None:
            _net(lines, sample, contents, constants, dry=dry, hydrogen=hydrogen)
        elif sample.net.known:
            _net_of_liquid(lines, sample, constants, found)
    body.add(lines.worked_out)
    if lines.kept:
        cells = f"E{lines.difference.number}:V{lines.difference.number}"
        body.difference(lines.difference, largest(Span(cells, [part.value for part in lines.kept])))
        body.add(lines.stored)
        body.add(lines.difference)


def _in_short(sample: SampleResult) -> str:
    """Return which statistic the values are, in as many words as its column holds."""
    return sample.statistic.removesuffix(", not judged").replace("mean of the closest", "closest")


def _agreement(lines: _Lines, sample: SampleResult, compared: Compared, constants: Constants) -> None:
    """Fill range and limit."""
    cells = compared.on_basis
    if cells is None or sample.range_J_per_g is None:
        return
    closest = _closest_two(sample)
    scale = largest(cells)
    lines.result("E", closest_gap(cells) if closest else spread(cells), sample.range_J_per_g, scale)
    if sample.limit_J_per_g is not None:
        limit = constants["repeatability_limit"]
        if not closest and len(cells.values) in _FACTORS:
            limit = limit * constants[_FACTORS[len(cells.values)]]
        lines.result("F", limit, sample.limit_J_per_g, scale)


def _closest_two(sample: SampleResult) -> bool:
    """Whether the two closest of more firings make the value: no other rule leaves one out."""
    return sample.n_used < len(sample.counted)


def _statistic(values: Span, sample: SampleResult) -> Live:
    if _closest_two(sample):
        return closest_mean(values)
    return median(values) if sample.statistic.startswith("median") else average(values)


def _other_bases(lines: _Lines, sample: SampleResult, contents: Contents, found: Live) -> Live | None:
    """Fill the gross values on other bases; returns the cell of the dry one."""
    moisture = contents.moisture
    if moisture is None:
        return None
    moisture = lines.worked_out.put("G", moisture, Form.HEAT)
    stored = sample.gross_J_per_g
    dry = None
    value = stored.get(Basis.DRY)
    if value is not None:
        dry = lines.result(_GROSS[Basis.DRY], found * 100 / (100 - moisture), value)
    value = stored.get(Basis.AS_RECEIVED)
    if value is not None and contents.total_moisture is not None:
        total = lines.worked_out.put("H", contents.total_moisture, Form.HEAT)
        lines.result(_GROSS[Basis.AS_RECEIVED], found * (100 - total) / (100 - moisture), value)
    value = stored.get(Basis.DRY_ASH_FREE)
    if value is not None and contents.ash is not None:
        ash = lines.worked_out.put("I", contents.ash, Form.HEAT)
        lines.result(_GROSS[Basis.DRY_ASH_FREE], found * 100 / (100 - moisture - ash), value)
    return dry


def _net(
    lines: _Lines, sample: SampleResult, contents: Contents, constants: Constants, *, dry: Live, hydrogen: Live
) -> None:
    """Fill the net values at constant pressure and volume."""
    net, line = sample.net, lines.worked_out
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
        ("pressure", _NET_PRESSURE, net.constant_pressure),
        ("volume", _NET_VOLUME, net.constant_volume),
    ):
        for basis, letter in letters.items():
            stored, moisture = values.get(basis), moistures[basis]
            if stored is None:
                continue
            found = burnt[way]
            if moisture is not None:
                found = found * (1 - moisture / 100) - constants[f"net-moisture-constant-{way}"] * moisture
            lines.result(letter, found, stored)


def _net_of_liquid(lines: _Lines, sample: SampleResult, constants: Constants, gross: Live) -> None:
    """Fill the net value that is estimated for a petroleum liquid whose hydrogen is not known."""
    stored = sample.net.constant_pressure.get(Basis.AS_ANALYSED)
    if stored is not None:
        intercept, slope = constants["liquid-net-intercept"], constants["liquid-net-slope"]
        lines.result(_NET_PRESSURE[Basis.AS_ANALYSED], 1000 * (intercept + slope * gross / 1000), stored)
