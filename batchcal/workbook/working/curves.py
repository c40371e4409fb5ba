"""The heat exchange of firings read against time, as formulas over the cells of their readings."""

import re
from collections.abc import Mapping, Sequence

from msgspec import Struct

from batchcal.logged import Place, ReadingRow
from batchcal.model import Curve, FiringResult
from batchcal.terms import HeatExchangeMethod
from batchcal.workbook.working.body import LAST, Body, Form, Line
from batchcal.workbook.working.constants import Ground
from batchcal.workbook.working.inputs import Inputs
from batchcal.workbook.working.live import (
    NOTHING,
    Live,
    Span,
    area,
    average,
    before_first,
    item,
    on_sheet,
    relative_difference,
    slope,
)

_ADDRESS = re.compile(r"([A-Z]+)(\d+)")

_FOUND, _KEPT = "N", "O"
_HEADINGS = {
    "A": "Firing no.", "B": "Way", "D": "Start (°C)", "E": "End (°C)", "F": "Rise (K)", "G": "Fore rate (K/min)",
    "H": "After rate (K/min)", "I": "Main period (min)", _FOUND: "Heat exchange (K)", _KEPT: "Stored (K)",
    LAST: "Difference, of the rise",
}  # fmt: skip

_OF_METHOD = {
    HeatExchangeMethod.TWO_RATES: {
        "J": "Fore mean (°C)", "K": "After mean (°C)", "L": "k (1/min)", "M": "Main mean (°C)",
    },
    HeatExchangeMethod.SIX_TENTHS: {
        "J": "Fraction", "K": "At it (°C)", "L": "Readings below", "M": "Turn (min)",
    },
    HeatExchangeMethod.NONE: {},
}  # fmt: skip

AS_STATED = "as stated, no formula: its readings do not stand as numbers one below another"
"""What is said of a correction that is carried over, since no formula over spans of cells can follow it."""


class FromReadings(Struct, frozen=True):
    """The cells that hold the rise and the heat exchange of a firing read against time, in K."""

    rise: Live
    exchange: Live


def write_curves(body: Body, ground: Ground) -> Mapping[int, FromReadings]:
    """Write a row for each firing with a curve, and return where its rise and its heat exchange stand."""
    evaluation = ground.evaluation
    fired = [firing for firing in evaluation.firings if firing.curve is not None and _worked_out(firing)]
    if not fired:
        return {}
    rows: dict[str, list[ReadingRow]] = {}
    for reading in evaluation.batch.readings:
        rows.setdefault(reading.firing, []).append(reading)
    method = evaluation.settings.heat_exchange_method or HeatExchangeMethod.NONE
    body.section(
        f"Rise and heat exchange from the readings: {method}",
        "Fore period up to the reading at firing, main period from there to the reading at its end, then after period.",
    )
    body.headings(_HEADINGS | _OF_METHOD[method])
    found = {}
    for firing in fired:
        if firing.curve is not None:
            found[id(firing.row)] = _write(body, ground, firing, firing.curve, rows[firing.row.firing])
    return found


def _worked_out(firing: FiringResult) -> bool:
    return firing.rise_K is not None and firing.heat_exchange_K is not None


def _write(
    body: Body, ground: Ground, firing: FiringResult, curve: Curve, readings: Sequence[ReadingRow]
) -> FromReadings:
    inputs, line = ground.inputs, body.line()
    body.link(line, firing.name, readings[0].place, "temperature_C")
    start, end = (
        line.put(letter, inputs.cell(reading.place, "temperature_C", reading.temperature_C or 0.0), Form.FOUR)
        for letter, reading in (("D", readings[curve.start]), ("E", readings[curve.end]))
    )
    rise = line.put("F", end - start, Form.FOUR)
    exchange: Live | None = NOTHING
    if curve.method is not HeatExchangeMethod.NONE:
        cells = _Cells.of(readings, curve, inputs)
        if cells is None:
            exchange = None
        elif curve.method is HeatExchangeMethod.TWO_RATES:
            exchange = _two_rates(line, cells)
        else:
            exchange = _six_tenths(line, cells, ground.constants["six-tenths-fraction"], start, end)
    if exchange is None:
        line.write("B", AS_STATED, Form.TEXT)
        line.write(_FOUND, curve.heat_exchange_K, Form.STATED)
        found = Live(f"{_FOUND}{line.number}", curve.heat_exchange_K)
    else:
        line.write("B", str(curve.method), Form.TEXT)
        found = line.put(_FOUND, exchange, Form.FIVE)
        line.write(_KEPT, curve.heat_exchange_K, Form.STATED)
        line.difference(relative_difference(found, Live(f"{_KEPT}{line.number}", curve.heat_exchange_K), rise))
    body.add(line)
    return FromReadings(rise, found)


class _Cells(Struct, frozen=True):
    """The cells of one firing's readings, which stand one below another; positions count from 0."""

    place: Place
    first_row: int
    columns: tuple[str, str]
    """Letters of times and of temperatures."""
    curve: Curve
    minutes: Live | None
    """Minutes in one unit of time, None for minutes."""
    zero: Live | None
    """What is taken off a temperature to make it one in °C, None where nothing is."""

    @staticmethod
    def of(readings: Sequence[ReadingRow], curve: Curve, inputs: Inputs) -> "_Cells | None":
        columns = []
        first_row = 0
        for field in ("time_min", "temperature_C"):
            found = [
                _ADDRESS.fullmatch(reading.place.cell(field) or "")
                for reading in readings
                if inputs.reference(reading.place, field) is not None
            ]
            addresses = [(match[1], int(match[2])) for match in found if match is not None]
            if not addresses or addresses != [(addresses[0][0], addresses[0][1] + n) for n in range(len(readings))]:
                return None
            if first_row not in (0, addresses[0][1]):
                return None
            letter, first_row = addresses[0]
            columns.append(letter)
        place = readings[0].place
        minutes, zero = inputs.factor(place.table, "time_min"), inputs.offset(place.table, "temperature_C")
        return _Cells(place, first_row, (columns[0], columns[1]), curve, minutes, zero)

    def times(self, first: int, last: int) -> Span:
        """Return the times of some readings, as they stand."""
        scale = 1.0 if self.minutes is None else self.minutes.single
        return self._span(0, first, last, [value / scale for value in self.curve.times_min[first : last + 1]])

    def temperatures(self, first: int, last: int) -> Span:
        """Return the temperatures of some readings, as they stand."""
        zero = 0.0 if self.zero is None else self.zero.single
        return self._span(1, first, last, [value + zero for value in self.curve.temperatures_C[first : last + 1]])

    def minute(self, position: int) -> Live:
        """Return the time of one reading in min."""
        span = self.times(position, position)
        return self.in_minutes(Live(span.text.partition(":")[0], span.values[0]))

    def in_minutes(self, time: Live) -> Live:
        """Return a time as it stands in min."""
        return time if self.minutes is None else time * self.minutes

    def in_celsius(self, temperature: Live) -> Live:
        """Return a temperature as it stands in °C."""
        return temperature if self.zero is None else temperature - self.zero

    def rate(self, first: int, last: int) -> Live:
        """Return the slope of the line through some readings in K/min."""
        found = slope(self.temperatures(first, last), self.times(first, last))
        return found if self.minutes is None else found / self.minutes

    def _span(self, column: int, first: int, last: int, values: list[float]) -> Span:
        letter = self.columns[column]
        cells = f"{letter}{self.first_row + first}:{letter}{self.first_row + last}"
        return Span(on_sheet(self.place.sheet, cells), values)


def _rates(line: Line, cells: _Cells) -> tuple[Live, Live, Live]:
    """Fill the cells of the two rates and of the length of the main period."""
    curve = cells.curve
    fore = line.put("G", cells.rate(0, curve.start), Form.FIVE)
    after = line.put("H", cells.rate(curve.end, len(curve.times_min) - 1), Form.FIVE)
    return fore, after, line.put("I", cells.minute(curve.end) - cells.minute(curve.start), Form.FOUR)


def _two_rates(line: Line, cells: _Cells) -> Live:
    curve = cells.curve
    start, end, last = curve.start, curve.end, len(curve.times_min) - 1
    fore, after, length = _rates(line, cells)
    fore_mean = line.put("J", cells.in_celsius(average(cells.temperatures(0, start))), Form.FOUR)
    after_mean = line.put("K", cells.in_celsius(average(cells.temperatures(end, last))), Form.FOUR)
    cooling = line.put("L", (fore - after) / (after_mean - fore_mean), Form.FIVE)
    twice = area(
        (cells.times(start, end - 1), cells.times(start + 1, end)),
        (cells.temperatures(start, end - 1), cells.temperatures(start + 1, end)),
    )
    middle = line.put("M", cells.in_celsius(cells.in_minutes(twice) / 2 / length), Form.FOUR)
    return -(fore - cooling * (middle - fore_mean)) * length


def _six_tenths(line: Line, cells: _Cells, fraction: Live, first: Live, last: Live) -> Live:
    curve = cells.curve
    fore, after, _ = _rates(line, cells)
    share = line.put("J", fraction, Form.PLAIN)
    wanted = line.put("K", first + share * (last - first), Form.FOUR)
    times, temperatures = cells.times(curve.start, curve.end), cells.temperatures(curve.start, curve.end)
    below = before_first(temperatures, wanted if cells.zero is None else wanted + cells.zero)
    number = line.put("L", below, Form.COUNT)
    low, high = (cells.in_celsius(item(temperatures, one)) for one in (number, number + 1))
    before, behind = item(times, number), item(times, number + 1)
    turn = line.put("M", cells.in_minutes(before + (behind - before) * (wanted - low) / (high - low)), Form.FOUR)
    return -fore * (turn - cells.minute(curve.start)) - after * (cells.minute(curve.end) - turn)
