"""The acids of one firing as formulas: the acid titrated, the sulphur burnt, and the heats by the scheme."""

from collections.abc import Mapping

from msgspec import Struct

from batchcal.logged import TitrantRow, TitrationRow
from batchcal.terms import AcidScheme, ConcentrationUnit, Purpose
from batchcal.workbook.conversions import of_titrant
from batchcal.workbook.working.alike import Rows
from batchcal.workbook.working.body import LAST, Body, Form
from batchcal.workbook.working.constants import Ground
from batchcal.workbook.working.group import Group
from batchcal.workbook.working.inputs import Inputs
from batchcal.workbook.working.live import NOTHING, Live, average, fixed, not_negative, relative_difference

_FOUND, _KEPT = "I", "J"
_HEADINGS = {
    "A": "Titrant", "B": "Day", "D": "Portion (g)", "E": "Molar mass (g/mol)", "F": "Equivalents", "G": "Titre (mL)",
    "H": "Blank (mL)", _FOUND: "Strength (eq/L)", _KEPT: "Stored (eq/L)", LAST: "Relative difference",
}  # fmt: skip


class Acids(Struct, frozen=True):
    """The cells of a firing's acid heats in J."""

    nitric: Live
    sulphuric: Live


class AcidRules(Struct, frozen=True):
    """What the acid heats of every firing rest on; ``strengths`` are by the identity of the first portion's row."""

    ground: Ground
    strengths: Mapping[int, Live]

    def write(self, group: Group, *, mass: Live, bomb_energy: Live, sulphur_percent: Live | None) -> Acids:
        """Fill the cells of the acids. ``sulphur_percent`` is that of samples as analysed, None for no sulphur."""
        line = group.line
        scheme = self.ground.settings.acid_scheme
        if scheme is None or scheme is AcidScheme.NONE:
            return Acids(NOTHING, NOTHING)
        nitric_heat = self.ground.constants["nitric_heat"]
        sulphur = None
        if scheme is AcidScheme.TWO_TITRATIONS:
            nitric, sulphur = self._two_titrations(group)
            booked = line.put("R", nitric * nitric_heat / 1000)
        else:
            if sulphur_percent is not None and scheme.uses_bench_sulphur:
                atomic_mass = self.ground.constants["atomic-mass-sulphur"]
                sulphur = line.put("P", 1000 * mass * sulphur_percent / (100 * atomic_mass), Form.FOUR)
            booked = line.put("R", self._nitric(group, scheme, bomb_energy, sulphur))
        if sulphur is None:
            return Acids(booked, NOTHING)
        per_mol = self.ground.constants["sulphuric_heat"]
        if scheme is AcidScheme.TOTAL_AS_NITRIC:
            per_mol = per_mol - 2 * nitric_heat
        return Acids(booked, line.put("S", sulphur * per_mol / 1000))

    def _nitric(self, group: Group, scheme: AcidScheme, bomb_energy: Live, sulphur: Live | None) -> Live:
        heat = self.ground.constants["nitric_heat"]
        if scheme is AcidScheme.FIXED:
            return heat
        if scheme is AcidScheme.PROPORTION:
            return heat * bomb_energy
        acid = group.line.put("O", self._titrated(group.titrations()), Form.FOUR)
        nitric = acid
        if scheme is AcidScheme.SULPHUR_APART and sulphur is not None:
            nitric = acid - 2 * sulphur
        return group.line.put("Q", nitric, Form.FOUR) * heat / 1000

    def _titrated(self, titrations: Rows[TitrationRow]) -> Live:
        """Return the acid of the washings in mmol of hydrogen ion: (V - blank) times the strength in eq/L."""
        inputs = self.ground.inputs
        volume = inputs.known(titrations, "titre_mL")
        if volume is None:
            start = inputs.cells(titrations, "burette_start_mL")
            volume = inputs.cells(titrations, "burette_end_mL") - start
        blank = inputs.maybe(titrations, "blank_mL")
        return (volume if blank is None else volume - blank) * self._strength(titrations)

    def _strength(self, titrations: Rows[TitrationRow]) -> Live:
        if titrations.ask(lambda titration: bool(titration.portions)):
            return titrations.lives(lambda titration: self.strengths[id(titration.portions[0])])
        strength = self.ground.inputs.cells(titrations, "concentration")
        unit = titrations.ask(lambda titration: titration.concentration_unit)
        titrant = titrations.ask(lambda titration: titration.titrant)
        if unit is ConcentrationUnit.MOLE_PER_LITRE and titrant is not None:
            strength = strength * self.ground.inputs.record.conversions[of_titrant(titrant).name]
        return strength

    def _two_titrations(self, group: Group) -> tuple[Live, Live | None]:
        """Return nitric and sulphuric acid in mmol; no sulphuric acid of benzoic acid."""
        titrations, inputs, line = group.titrations(), self.ground.inputs, group.line

        def cells(name: str) -> Live:
            return inputs.cells(titrations, name)

        baryta = cells("baryta_mL")
        blank = inputs.maybe(titrations, "blank_mL")
        in_all = line.put("O", (baryta if blank is None else baryta - blank) * cells("baryta_eq_per_L"), Form.FOUR)
        used_up = cells("carbonate_mL") * cells("carbonate_eq_per_L") - cells("acid_mL") * cells("acid_eq_per_L")
        nitric = line.put("Q", used_up, Form.FOUR)
        if not group.ask(lambda firing: firing.purpose is Purpose.SAMPLE):
            return nitric, None
        return nitric, line.put("P", not_negative((in_all - nitric) / 2), Form.FOUR)


def write_strengths(body: Body, ground: Ground) -> Mapping[int, Live]:
    """Write the standardisations that strengths were taken from; returns where each strength stands."""
    used = {
        id(firing.titration.portions[0]): firing.titration
        for firing in ground.evaluation.firings
        if firing.titration is not None and firing.titration.portions
    }
    if not used:
        return {}
    body.section("Strength of titrants from their standardisation", "1000 m z / (M (V - blank)), the mean of portions.")
    body.headings(_HEADINGS)
    found = {}
    for key, titration in used.items():
        first = body.next
        values = [_portion(body, row, ground.inputs).single for row in titration.portions]
        line = body.line()
        line.write("A", f"mean of {len(values)}", Form.STRONG)
        strength = line.put(_FOUND, average(body.span(_FOUND, first, values)), Form.PLAIN)
        line.write(_KEPT, titration.concentration, Form.PLAIN)
        stored = Live(f"{_KEPT}{line.number}", titration.concentration or 0.0)
        line.difference(relative_difference(strength, stored))
        found[key] = Live(fixed(strength.text), strength.value)
        body.add(line)
    return found


def _portion(body: Body, row: TitrantRow, inputs: Inputs) -> Live:
    line = body.line()
    body.link(line, str(row.titrant or ""), row.place, "titrant")
    line.write("B", row.date.isoformat() if row.date is not None else "", Form.TEXT)
    mass, molar_mass, equivalents, titre = (
        line.put(letter, inputs.cell(row.place, name, getattr(row, name) or 0.0), Form.FIVE)
        for letter, name in (
            ("D", "portion_g"), ("E", "molar_mass_g_per_mol"), ("F", "equivalents"), ("G", "titre_mL"),
        )
    )  # fmt: skip
    blank = inputs.optional(row.place, "blank_mL", row.blank_mL)
    net = titre if blank is None else titre - line.put("H", blank, Form.FIVE)
    strength = line.put(_FOUND, 1000 * mass * equivalents / (molar_mass * net), Form.PLAIN)
    body.add(line)
    return strength
