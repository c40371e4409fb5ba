"""A package with one sheet whose part is typed by hand, and where everything stands in that part."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from batchcal.workbook.xlsx.columns import AddedColumns
from batchcal.workbook.xlsx.geometry import Geometry, geometry
from batchcal.workbook.xlsx.inline_cells import InlineCells
from batchcal.workbook.xlsx.links import Link, Links, links_there
from batchcal.workbook.xlsx.markup import Part
from batchcal.workbook.xlsx.package import Package
from lab_packages.parts import packed

MAIN = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
RELS = "http://schemas.openxmlformats.org/package/2006/relationships"
DOC = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
SHEET = "xl/worksheets/sheet1.xml"


def package(sheet: bytes, more: Mapping[str, bytes] | None = None, names: str = "") -> bytes:
    """A package with one sheet, Runs, and what else stands beside it."""
    main = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"
    content = {
        "[Content_Types].xml": '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default '
        'Extension="xml" ContentType="application/xml"/><Default Extension="rels" ContentType="application/vnd.'
        f'openxmlformats-package.relationships+xml"/><Override PartName="/xl/workbook.xml" ContentType="{main}"/>'
        "</Types>",
        "_rels/.rels": f'<Relationships xmlns="{RELS}"><Relationship Id="rId1" Type="{DOC}/officeDocument" '
        'Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook {MAIN} xmlns:r="{DOC}"><sheets><sheet name="Runs" sheetId="1" r:id="rId1"/>'
        f"</sheets>{names}</workbook>",
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{RELS}"><Relationship Id="rId1" '
        f'Type="{DOC}/worksheet" Target="worksheets/sheet1.xml"/></Relationships>',
    }
    return packed({**{name: text.encode() for name, text in content.items()}, SHEET: sheet, **(more or {})})


def places(sheet: bytes, **how: object) -> Geometry:
    return geometry(Part(Package("day.xlsx", package(sheet, **how)), SHEET))  # type: ignore[arg-type]


def columns_at(
    places: Geometry,
    first: int,
    widths: Sequence[float],
    rows: Mapping[int, Sequence[float | str | None]],
    links: Iterable[tuple[str, Link]] = (),
) -> AddedColumns:
    """Columns with these values; every cell has the format 5."""
    side_by_side = InlineCells(places.part.prefix(places.data), first, len(widths))

    def cells(numbers: Sequence[int]) -> Iterator[str]:
        for number in numbers:
            values = zip(side_by_side.columns, rows[number], strict=True)
            yield from side_by_side.rows(
                [number],
                [[column.text(5, value)] if isinstance(value, str) else column.numbers(5, [value])
                 for column, value in values],
            )  # fmt: skip

    found = Links(links_there(places))
    for cell, link in links:
        found.add(cell, link)
    return AddedColumns(first, widths, sorted(rows), cells, found)
