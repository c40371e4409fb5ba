"""What the other benches found of a sample, as formulas on its row: moistures, ash, and contents on other bases."""

from dataclasses import dataclass

from batchcal.logged import SampleRow
from batchcal.terms import Basis, YesNo
from batchcal.workbook.working.constants import Constants
from batchcal.workbook.working.inputs import Inputs
from batchcal.workbook.working.live import NOTHING, Live, not_negative


@dataclass(frozen=True, slots=True)
class Contents:
    """The contents of one sample in %; None where one is not known or was not used."""

    row: SampleRow | None
    inputs: Inputs
    moisture: Live | None = None
    """Of the analysis sample."""
    total_moisture: Live | None = None
    ash: Live | None = None
    """As analysed."""

    @staticmethod
    def of(row: SampleRow | None, inputs: Inputs) -> "Contents":
        """Return the contents of a row of Samples, leaving out what contradicts itself as the evaluation does."""
        if row is None:
            return Contents(None, inputs)
        analysis, total = row.moisture_analysis, row.moisture_total
        moisture = None if analysis is None else inputs.cell(row.place, "moisture_analysis", analysis)
        of_all = None if total is None else inputs.cell(row.place, "moisture_total", total)
        if analysis is not None and total is not None and analysis > total:
            of_all = None
        known = Contents(row, inputs, moisture, of_all)
        ash = known.as_analysed("ash")
        if ash is not None and moisture is not None and moisture.value + ash.value >= 100:
            ash = None
        return Contents(row, inputs, moisture, of_all, ash)

    def as_analysed(self, name: str) -> Live | None:
        """Return a content as analysed, or None where that cannot be told."""
        row = self.row
        if row is None or name not in row.contents:
            return None
        value, basis = row.contents[name], row.bases.get(name)
        cell = self.inputs.cell(row.place, name, value)
        if value == 0 or basis is Basis.AS_ANALYSED:
            return cell
        if basis is None or self.moisture is None:
            return None
        if basis is Basis.DRY:
            return cell * (100 - self.moisture) / 100
        if basis is Basis.AS_RECEIVED:
            return None if self.total_moisture is None else cell * (100 - self.moisture) / (100 - self.total_moisture)
        return None if self.ash is None else cell * (100 - self.moisture - self.ash) / 100

    def dry(self, name: str, content: Live | None = None) -> Live | None:
        """Return a content dry, or None where that cannot be told; ``content`` stands for its cell where given."""
        row = self.row
        if row is None or name not in row.contents:
            return None
        value, basis = row.contents[name], row.bases.get(name)
        cell = content if content is not None else self.inputs.cell(row.place, name, value)
        if basis is Basis.DRY or (value == 0 and content is None):
            return cell
        if basis is None:
            return None
        if basis is Basis.DRY_ASH_FREE and self.moisture is not None and self.ash is not None:
            return cell * (100 - self.moisture - self.ash) / (100 - self.moisture)
        if basis is Basis.AS_RECEIVED and self.moisture is not None and self.total_moisture is not None:
            return cell * 100 / (100 - self.total_moisture)
        if basis is Basis.AS_ANALYSED and self.moisture is not None:
            return cell * 100 / (100 - self.moisture)
        return None

    def hydrogen(self, constants: Constants) -> Live | None:
        """Return the hydrogen, dry, without that of the moisture."""
        row = self.row
        if row is None or "hydrogen" not in row.contents:
            return None
        cell = self.inputs.cell(row.place, "hydrogen", row.contents["hydrogen"])
        moisture = {Basis.AS_ANALYSED: self.moisture, Basis.AS_RECEIVED: self.total_moisture}.get(
            row.bases.get("hydrogen") or Basis.DRY
        )
        if moisture is not None and row.hydrogen_includes_moisture is YesNo.YES:
            cell = cell - constants["hydrogen-in-water"] * moisture
        return self.dry("hydrogen", cell)

    def oxygen(self, hydrogen: Live, nitrogen: Live | None) -> Live:
        """Return the oxygen, dry: as given, by difference from the other contents, or 0 where it is not known."""
        given = self.dry("oxygen")
        if given is not None:
            return given
        carbon, sulphur, ash = (self.dry(name) for name in ("carbon", "sulphur", "ash"))
        if carbon is None or sulphur is None or ash is None or nitrogen is None:
            return NOTHING
        return not_negative(100 - (carbon + hydrogen + nitrogen + sulphur + ash))
