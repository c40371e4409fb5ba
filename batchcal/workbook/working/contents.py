"""What the other benches found of samples, as formulas on their rows: moistures, ash, contents on other bases."""

from msgspec import Struct

from batchcal.logged import SampleRow
from batchcal.terms import Basis, YesNo
from batchcal.workbook.working.alike import Rows
from batchcal.workbook.working.constants import Constants
from batchcal.workbook.working.figures import reaches
from batchcal.workbook.working.inputs import Inputs
from batchcal.workbook.working.live import NOTHING, Live, not_negative


class Contents(Struct, frozen=True):
    """The contents of samples in %; None where one is not known or was not used."""

    rows: Rows[SampleRow] | None
    inputs: Inputs
    moisture: Live | None = None
    """Of the analysis sample."""
    total_moisture: Live | None = None
    ash: Live | None = None
    """As analysed."""

    @staticmethod
    def of(rows: Rows[SampleRow] | None, inputs: Inputs) -> "Contents":
        """Return the contents of rows of Samples, leaving out what contradicts itself as the evaluation does."""
        if rows is None:
            return Contents(None, inputs)
        moisture = inputs.known(rows, "moisture_analysis")
        of_all = inputs.known(rows, "moisture_total")
        if moisture is not None and of_all is not None and rows.ask(_contradicts):
            of_all = None
        known = Contents(rows, inputs, moisture, of_all)
        ash = known.as_analysed("ash")
        if ash is not None and moisture is not None and reaches(moisture.value + ash.value, 100):
            ash = None
        return Contents(rows, inputs, moisture, of_all, ash)

    def as_analysed(self, name: str) -> Live | None:
        """Return a content as analysed, or None where that cannot be told."""
        rows = self.rows
        if rows is None or not _given(rows, name):
            return None
        cell, basis = self._cells(rows, name), _basis(rows, name)
        if _none_of_it(rows, name) or basis is Basis.AS_ANALYSED:
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
        rows = self.rows
        if rows is None or not _given(rows, name):
            return None
        cell, basis = content or self._cells(rows, name), _basis(rows, name)
        if basis is Basis.DRY or (content is None and _none_of_it(rows, name)):
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

    def _cells(self, rows: Rows[SampleRow], name: str) -> Live:
        return self.inputs.cells(rows, name, rows.figures(lambda row: row.contents[name]))

    def hydrogen(self, constants: Constants) -> Live | None:
        """Return the hydrogen, dry, without that of the moisture."""
        rows = self.rows
        if rows is None or not _given(rows, "hydrogen"):
            return None
        cell = self._cells(rows, "hydrogen")
        moisture = {Basis.AS_ANALYSED: self.moisture, Basis.AS_RECEIVED: self.total_moisture}.get(
            _basis(rows, "hydrogen") or Basis.DRY
        )
        if moisture is not None and rows.ask(lambda row: row.hydrogen_includes_moisture is YesNo.YES):
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


def _given(rows: Rows[SampleRow], name: str) -> bool:
    return rows.ask(lambda row: name in row.contents)


def _basis(rows: Rows[SampleRow], name: str) -> Basis | None:
    return rows.ask(lambda row: row.bases.get(name))


def _none_of_it(rows: Rows[SampleRow], name: str) -> bool:
    return rows.ask(lambda row: row.contents[name] == 0)


def _contradicts(row: SampleRow) -> bool:
    """Whether the moisture of the analysis sample is above the total moisture."""
    return (row.moisture_analysis or 0.0) > (row.moisture_total or 0.0)
