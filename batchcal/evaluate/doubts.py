"""The findings of the reading by the cell at which they stand, joined to the rows whose fields they keep from use."""

from collections.abc import Collection, Iterable

from batchcal.findings import Finding
from batchcal.logged import Place


class Doubts:
    """Findings by their cells, in the order in which they were made."""

    def __init__(self, found: Iterable[Finding]) -> None:
        self._at: dict[tuple[str, str], list[tuple[int, Finding]]] = {}
        for index, finding in enumerate(found):
            if finding.sheet is not None and finding.cell is not None:
                self._at.setdefault((finding.sheet, finding.cell), []).append((index, finding))

    def of(self, place: Place, fields: Collection[str]) -> list[Finding]:
        """Return the findings that stand at the cells of these fields of a row, or at the headings above them."""
        if not fields:
            return []
        found: dict[int, Finding] = {}
        for name in fields:
            for cell in (place.cell(name), place.heading_cell(name)):
                if cell is not None:
                    found |= dict(self._at.get((place.sheet, cell), ()))
        return [found[index] for index in sorted(found)]
