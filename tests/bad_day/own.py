"""The lab's own result columns: each cell is worked out as a formula and as a number at the same time.

The arithmetic is the plain one of a hand-worked bomb, in the lab's own constants on Setup and the heat capacities
noted on the sheet Constants. A :class:`~bad_day.day.Recipe` says where the lab's sheet is wrong.
"""

from collections.abc import Callable
from dataclasses import dataclass
from statistics import fmean
from typing import Any

from bad_day.day import (
    CONSTANTS,
    END,
    EXCHANGE,
    FIRING,
    GROSS,
    IDENTITY,
    MASS,
    OWN_AD,
    OWN_CAPACITY,
    OWN_D,
    OWN_MEAN,
    OWN_VERDICT,
    RISE,
    SAMPLE,
    START,
    TARE,
    TITRE,
    Day,
    Formula,
    Row,
    plain,
)

FURTHER_TEST_FACTOR = {2: 1.0, 3: 1.2, 4: 1.3}
NITRIC_FRACTION = 0.0012
"""Nitric heat as a fraction of the bomb value where the washings are not titrated; recalled for coal."""


@dataclass(frozen=True)
class Expression:
    """Part of a formula and its value; an error spreads as it does in a spreadsheet."""

    text: str
    value: float | str

    def _with(self, other: "Expression | float", sign: str, work: Callable[[float, float], float]) -> "Expression":
        if not isinstance(other, Expression):
            other = Expression(repr(other), other)
        text = f"({self.text}{sign}{other.text})"
        for part in (self, other):
            if isinstance(part.value, str):
                return Expression(text, part.value)
        a, b = self.value, other.value
        if isinstance(a, str) or isinstance(b, str):
            raise TypeError(text)
        return Expression(text, "#DIV/0!" if sign == "/" and b == 0 else work(a, b))

    def __add__(self, other: "Expression | float") -> "Expression":
        return self._with(other, "+", lambda a, b: a + b)

    def __sub__(self, other: "Expression | float") -> "Expression":
        return self._with(other, "-", lambda a, b: a - b)

    def __mul__(self, other: "Expression | float") -> "Expression":
        return self._with(other, "*", lambda a, b: a * b)

    def __truediv__(self, other: "Expression | float") -> "Expression":
        return self._with(other, "/", lambda a, b: a / b)


def _reference(text: str, value: Any) -> Expression:
    value = plain(value)
    if value is None or value == "":
        return Expression(text, 0.0)
    if isinstance(value, str):
        return Expression(text, value if value.startswith("#") else "#VALUE!")
    return Expression(text, float(value))


class Sheet:
    """The lab's own sheet at work on a day."""

    def __init__(self, day: Day) -> None:
        self.day = day
        self.recipe = day.recipe
        self.unrounded_d: dict[str, float] = {}

    def setup(self, item: str) -> Expression:
        """Return a constant of Setup, referred to with both parts fixed."""
        row = next((row for row in self.day.sheets["Setup"] if row["Item"] == item), None)
        if row is None:
            return Expression("0", 0.0)
        return _reference(f"{{$Setup!Value@{self.day.place('Setup', row)}}}", row["Value"])

    def of(self, sheet: str, row: Row | None, heading: str) -> Expression:
        """Return a cell of another sheet."""
        if row is None:
            return Expression("0", 0.0)
        return _reference(f"{{{sheet}!{heading}@{self.day.place(sheet, row)}}}", row.get(heading))

    @staticmethod
    def here(row: Row, heading: str) -> Expression:
        """Return a cell of the row itself."""
        return _reference(f"{{{heading}}}", row.get(heading))

    def benzoic(self) -> Expression:
        """Return the certificate value by the gram of a balance in air."""
        value = self.setup("Benzoic acid heat of combustion")
        return value * 1.00076 if self.day.setup("Benzoic acid mass basis") == "vacuum" else value

    def mass(self, row: Row) -> Expression:
        return self.here(row, MASS) if row.get(MASS) is not None else self.here(row, GROSS) - self.here(row, TARE)

    def theta(self, row: Row) -> Expression:
        rise = self.here(row, RISE) if row.get(RISE) is not None else self.here(row, END) - self.here(row, START)
        return rise + self.here(row, EXCHANGE)

    def side_heats(self, row: Row) -> Expression:
        """Return the heat of wire, thread, aid and capsule (J)."""
        burnt = self.here(row, "Wire fitted (cm)") - self.here(row, "Wire left (cm)")
        heat = burnt * self.setup("Wire heat") + self.here(row, "Thread (mg)") * self.setup("Thread heat")
        if row.get("Aid"):
            heat = heat + self.here(row, "Aid mass (g)") * self.setup(f"Aid heat [{row['Aid']}]")
        if row.get("Capsule mass (g)"):
            heat = heat + self.here(row, "Capsule mass (g)") * self.setup("Capsule heat [capsule]")
        return heat

    def acid_mmol(self, row: Row) -> Expression:
        """Return all acid titrated (mmol of hydrogen ion)."""
        titration = self.day.find("Titration", FIRING, row[FIRING])
        if titration is None or titration.get(TITRE) is None:
            return Expression("0", 0.0)
        volume = self.of("Titration", titration, TITRE) - self.of("Titration", titration, "Blank (mL)")
        strength = volume * self.of("Titration", titration, "Concentration")
        two = titration["Titrant"] in ("sodium carbonate", "barium hydroxide")
        return strength * 2.0 if two and titration["Concentration unit"] == "mol/L" else strength

    def acids(self, row: Row, sample: Row | None) -> Expression:
        """Return the heat of both acids (J) as the recipe has it."""
        nitric, sulphuric = self.setup("Nitric acid heat"), self.setup("Sulphuric acid heat")
        if self.recipe.acid == "forgotten" and sample is not None:
            return Expression("0", 0.0)
        acid = self.acid_mmol(row)
        if sample is None:
            return acid * nitric
        content = self.of("Samples", sample, "Sulphur (%)")
        if sample.get("Basis") == "d" and not self.recipe.sulphur_as_typed:
            content = content * ((self.dry(sample)) / 100.0)
        sulphur = content * self.mass(row)
        sulphur_mmol = sulphur * (10 / 32.06)
        total = self.day.setup("Acid scheme") == "total as nitric"
        factor = self.recipe.sulphur_J_per_percent_gram
        if factor is not None:
            sulphur_heat = sulphur * factor
        elif total:
            sulphur_heat = sulphur_mmol * (sulphuric - nitric * 2.0)
        else:
            sulphur_heat = sulphur_mmol * sulphuric
        return (acid if total else acid - sulphur_mmol * 2.0) * nitric + sulphur_heat

    def dry(self, sample: Row) -> Expression:
        """Return the share of dry matter in the analysis sample (%)."""
        return Expression("100", 100.0) - self.of("Samples", sample, "Moisture, analysis (%)")

    def capacity(self, row: Row) -> Expression:
        """Return the heat capacity that the sheet takes for a row of Runs."""
        constants = self.day.sheets["Constants"]
        index = next((i for i, entry in enumerate(constants) if entry[CONSTANTS[0]] == row["Bomb"]), None)
        if index is None:
            return Expression("0", 0.0)
        fixed = "$"
        if self.recipe.capacity == "older":
            index += len(self.day.secrets.capacity_J_per_K)
        elif self.recipe.capacity == "drifting":
            index, fixed = index + self.day.place("Runs", row), ""
        value = constants[index]["Value"] if index < len(constants) else None
        return _reference(f"{{{fixed}Constants!Value@{index}}}", value)

    def put(self, row: Row, heading: str, worked: Expression, decimals: int) -> None:
        """Write a result as formula with stored value, or as the rounded number that was typed."""
        if self.day.formulas:
            row[heading] = Formula(f"={worked.text}", worked.value)
        else:
            row[heading] = None if isinstance(worked.value, str) else round(worked.value, decimals)

    def calibration(self) -> None:
        """Work out each heat capacity, and note the mean of each bomb's series."""
        found: dict[str, list[float]] = {}
        for row in self.day.sheets["Calibration"]:
            heat = self.mass(row) * self.benzoic() + self.side_heats(row) + self.acids(row, None)
            worked = heat / self.theta(row)
            self.put(row, OWN_CAPACITY, worked, 1)
            if not isinstance(worked.value, str):
                found.setdefault(row["Bomb"], []).append(worked.value)
        for bomb, values in found.items():
            entry = self.day.find("Constants", CONSTANTS[0], bomb)
            if entry is not None:
                entry["Value"] = round(fmean(values), 1)

    def firing(self, row: Row) -> None:
        """Work out the gross calorific value of a firing, as analysed and dry."""
        sample = self.day.find("Samples", SAMPLE, row.get(SAMPLE)) if row.get(SAMPLE) is not None else None
        bomb_heat = self.capacity(row) * self.theta(row) - self.side_heats(row)
        mass = self.mass(row)
        worked = (bomb_heat - self.acids(row, sample)) / mass
        if self.recipe.acid == "twice" and sample is not None:
            worked = worked - bomb_heat / mass * NITRIC_FRACTION
        self.put(row, OWN_AD, worked, 0)
        if sample is None:
            row[OWN_D] = None
            return
        if self.recipe.dry == "right":
            ad = self.here(row, OWN_AD) if self.day.formulas else worked
            worked = ad * 100.0 / self.dry(sample)
        elif self.recipe.dry == "upside down":
            worked = worked * self.dry(sample) / 100.0
        self.put(row, OWN_D, worked, 0)
        if not isinstance(worked.value, str):
            self.unrounded_d[row[IDENTITY]] = worked.value

    def verdict(self, sample: Row) -> None:
        """Judge the firings of a sample by their range and give the mean where they agree."""
        rows = [row for row in self.day.sample_rows() if row[SAMPLE] == sample[SAMPLE]]
        values = [self.unrounded_d[row[IDENTITY]] for row in rows if row[IDENTITY] in self.unrounded_d]
        sample[OWN_MEAN] = sample[OWN_VERDICT] = None
        if not 2 <= len(rows) <= 4 or len(values) < len(rows):
            return
        step = self.recipe.rounded_before_comparing_J_per_g
        cells = [f"{{Runs!{OWN_D}@{self.day.place('Runs', row)}}}" for row in rows]
        compared = values
        if step is not None:
            cells = [f"(ROUND({cell}/{step},0)*{step})" for cell in cells]
            compared = [_half_up(value / step) * step for value in values]
        listed = ",".join(cells)
        limit = self.day.limit_J_per_g() * FURTHER_TEST_FACTOR[len(rows)]
        verdict = "agree" if max(compared) - min(compared) <= limit else "disagree"
        mean: float | str = fmean(values) if verdict == "agree" else ""
        if not self.day.formulas:
            sample[OWN_MEAN] = round(mean) if isinstance(mean, float) else None
            sample[OWN_VERDICT] = verdict
            return
        plain_cells = ",".join(f"{{Runs!{OWN_D}@{self.day.place('Runs', row)}}}" for row in rows)
        sample[OWN_VERDICT] = Formula(f'=IF(MAX({listed})-MIN({listed})<={limit:g},"agree","disagree")', verdict)
        sample[OWN_MEAN] = Formula(f'=IF({{{OWN_VERDICT}}}="agree",AVERAGE({plain_cells}),"")', mean)


def _half_up(value: float) -> int:
    return int(value + 0.5)


def own_results(day: Day) -> None:
    """Work out the lab's own result columns anew from what stands in the cells, by the day's recipe."""
    if not day.own:
        return
    sheet = Sheet(day)
    sheet.calibration()
    for row in day.sheets["Runs"]:
        sheet.firing(row)
    for sample in day.sheets["Samples"]:
        sheet.verdict(sample)


def gross_d_J_per_g(day: Day, row: Row) -> float:
    """Return the dry value of a firing as the lab's sheet has it, unrounded."""
    sheet = Sheet(day)
    sheet.firing(dict(row))
    return sheet.unrounded_d[row[IDENTITY]]
