"""The composition of a sample as the benches gave it, brought to the dry basis and free of the moisture's elements."""

from msgspec import Struct

from batchcal.evaluate.contents import Contents
from batchcal.formulas import bases, composition, net
from batchcal.terms import Basis, YesNo

ELEMENTS = ("carbon", "hydrogen", "nitrogen", "sulphur", "oxygen", "chlorine")

_NEEDED = {*ELEMENTS, "ash"} - {"chlorine"}


class Analysis(Struct, frozen=True):
    """A full analysis: carbon, hydrogen, nitrogen, sulphur, oxygen and ash in % dry, chlorine where it is given."""

    moisture: float
    """Moisture of the analysis sample, %."""
    dry: dict[str, float]

    @property
    def sum_dry(self) -> float:
        """Sum of everything given, % dry; 100 where nothing is wrong."""
        return sum(self.dry.values())

    @property
    def sum_as_analysed(self) -> float:
        """Sum of everything given with the moisture, % as analysed."""
        return self.moisture + self.sum_dry * (100.0 - self.moisture) / 100.0

    @property
    def terms(self) -> str:
        """What was added up, in words, with each figure as analysed."""
        part = (100.0 - self.moisture) / 100.0
        figures = [f"{name} {value * part:.2f}" for name, value in self.dry.items()]
        return ", ".join([*figures, f"moisture {self.moisture:.2f}"])

    def expected_J_per_g(self, *, less_hydrogen: float = 0.0, more_oxygen: float = 0.0) -> float | None:
        """Return the gross value (dry) expected of this composition, or None where the formula does not hold."""
        given = {name: value for name, value in self.dry.items() if name != "chlorine"}
        given["hydrogen"] -= less_hydrogen
        given["oxygen"] += more_oxygen
        try:
            return composition.gross_from_composition(**given)
        except ValueError:
            return None

    @property
    def expected_of_coal_J_per_g(self) -> float | None:
        """Gross value (dry) that the formula for coal gives, or None where it does not hold."""
        try:
            return composition.gross_of_coal(
                **{name: self.dry[name] for name in ("carbon", "hydrogen", "sulphur", "oxygen")}
            )
        except ValueError:
            return None


def full_analysis(entry: Contents) -> Analysis | None:
    """Return the full analysis of a sample, or None where a part is missing, on no basis, or known to be wrong.

    Where the hydrogen holds that of the moisture it is taken off, and that of the oxygen too if the sum is then
    nearer to 100: some benches give both with the moisture, some only the hydrogen.
    """
    moisture = entry.moisture_analysis
    if not entry.given.keys() >= _NEEDED or moisture is None or entry.row is None or moistures_doubtful(entry):
        return None
    dry: dict[str, float] = {}
    for name in (*ELEMENTS, "ash"):
        value = entry.on_dry(name)
        if value is not None:
            dry[name] = value
        elif name in _NEEDED:
            return None
    if entry.row.hydrogen_includes_moisture is YesNo.YES:
        water = moisture_beside(entry, "hydrogen")
        if water is None:
            return None
        dry["hydrogen"] -= net.HYDROGEN_IN_WATER * water
        oxygen = dry["oxygen"] - net.OXYGEN_IN_WATER * water
        rest = sum(dry.values()) - dry["oxygen"] - 100.0
        if oxygen >= 0.0 and abs(rest + oxygen) < abs(rest + dry["oxygen"]):
            dry["oxygen"] = oxygen
    return Analysis(moisture, dry)


def moisture_beside(entry: Contents, name: str) -> float | None:
    """Return the moisture (g per 100 g of dry matter) of the state in which a content is given; 0 for dry ones."""
    basis = None if entry.row is None else entry.row.bases.get(name)
    if basis is Basis.AS_ANALYSED:
        moisture = entry.moisture_analysis
    elif basis is Basis.AS_RECEIVED:
        moisture = entry.moisture_total
    else:
        return None if basis is None else 0.0
    return None if moisture is None or moisture >= 100.0 else bases.dry_from_as_analysed(moisture, moisture)


def moistures_doubtful(entry: Contents) -> bool:
    """Whether a finding says already that a moisture or the ash of a sample cannot be right."""
    return any(finding.code in {"moistures-exchanged", "ash-and-moisture-over"} for finding in entry.found)
