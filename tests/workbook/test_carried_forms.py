"""Results in packages of every form that the standard allows, and in workbooks at the limits."""

import random
import re
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
from lab_packages.forms import declared_where_used, in_utf_16, named_from_the_root, prefixed, strict
from lab_packages.parts import changed, packed, parts, sheet_parts
from lab_packages.writers import by_office, by_pandas, by_xlsxwriter
from lab_packages.written import assert_carried
from made import results_of
from programs import program

from batchcal.errors import WorkbookError
from batchcal.workbook.xlsx import stylesheet

FORMS = [strict, prefixed, declared_where_used, in_utf_16, named_from_the_root]
Form = Callable[[bytes], bytes]


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    return by_pandas(tmp_path_factory.mktemp("plain") / "day.xlsx").read_bytes()


def saved(folder: Path, data: bytes, name: str = "day.xlsx") -> Path:
    path = folder / name
    path.write_bytes(data)
    return path


@pytest.mark.parametrize("form", FORMS)
def test_a_package_in_another_form_is_carried(plain: bytes, form: Form, tmp_path: Path) -> None:
    path = saved(tmp_path, form(plain))
    assert_carried(path.read_bytes(), results_of(path))


def test_all_that_is_added_to_a_strict_package_is_strict(tmp_path: Path) -> None:
    path = saved(tmp_path, strict(by_xlsxwriter(tmp_path / "day.xlsx").read_bytes()))
    result = results_of(path)
    assert_carried(path.read_bytes(), result)
    for name, part in parts(result).items():
        # Extensions of common use have no strict form.
        assert b"schemas.openxmlformats.org/spreadsheetml" not in part, name
        assert b"schemas.openxmlformats.org/officeDocument/2006/relationships" not in part, name


def test_another_program_reads_every_form(plain: bytes, tmp_path: Path) -> None:
    files = [saved(tmp_path, results_of(saved(tmp_path, form(plain))), f"{form.__name__}.xlsx") for form in FORMS]
    for path in by_office(program("soffice"), files[0], tmp_path / "saved", *files[1:]):
        book = openpyxl.load_workbook(path)
        assert book.sheetnames == ["Setup", "Runs", "Samples", "Results", "Findings", "Working", "Record"]
        runs = book["Runs"]
        column = next(cell.column for cell in runs[1] if cell.value == "Gross, as analysed (J/g)")
        # (10 000 x 2.5 - 60) / 1 and (10 000 x 2.505 - 60) / 1
        assert [runs.cell(row, column).value for row in (2, 3)] == pytest.approx([24940, 24990], rel=1e-14)
        assert runs.cell(1, column).font.i


def test_formats_come_behind_the_lab_s_own_whatever_it_has(plain: bytes, tmp_path: Path) -> None:
    """A styles part reduced to what its cells need: one font, one fill, two formats, no cell styles."""
    space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    reduced = (
        f'<styleSheet xmlns="{space}"><fonts><font><sz val="9"/></font></fonts>'
        "<fills><fill><patternFill/></fill></fills><borders><border/></borders>"
        '<cellXfs count="7"><xf/><xf/><xf/><xf/></cellXfs><dxfs/></styleSheet>'
    )
    path = saved(tmp_path, changed(plain, {"xl/styles.xml": lambda _: reduced.encode()}))
    result = results_of(path)
    assert_carried(path.read_bytes(), result)
    book = openpyxl.load_workbook(saved(tmp_path, result, "result.xlsx"))
    assert book["Runs"]["A1"].font.sz == 9
    heading = next(cell for cell in book["Runs"][1] if cell.value == "Mass (g)")
    assert (heading.font.name, heading.font.i, heading.fill.fgColor.rgb) == ("Arial", True, "00ECE8F1")


def test_number_formats_of_the_lab_keep_their_numbers(plain: bytes, tmp_path: Path) -> None:
    own = (
        '<numFmts count="2"><numFmt numFmtId="164" formatCode="0.0"/>'
        '<numFmt numFmtId="900" formatCode="0.00\\ x"/></numFmts>'
    )

    def give(data: bytes) -> bytes:
        text = re.sub(r"<numFmts.*?</numFmts>", "", data.decode())
        return text.replace("<fonts", f"{own}<fonts", 1).encode()

    path = saved(tmp_path, changed(plain, {"xl/styles.xml": give}))
    result = results_of(path)
    assert_carried(path.read_bytes(), result)
    styles = parts(result)["xl/styles.xml"].decode()
    assert '<numFmt numFmtId="900" formatCode="0.00\\ x"/>' in styles
    assert styles.count('formatCode="0.0"/>') == 1  # the same format is not brought a second time
    assert 'numFmtId="901"' in styles


def test_a_workbook_without_room_for_formats_is_refused(
    plain: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(stylesheet, "MAX_FORMATS", 20)
    with pytest.raises(WorkbookError, match=r"day\.xlsx: has \d+ cell formats, so that no more fit"):
        results_of(saved(tmp_path, plain))


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("xl/workbook.xml", b"</sheets>", b"</sheets><definedNames/>"),
        ("xl/workbook.xml", re.compile(rb"<bookViews>.*</bookViews>"), b""),
        ("xl/workbook.xml", re.compile(rb"<bookViews>.*</bookViews>"), b"<bookViews/>"),
        ("xl/workbook.xml", re.compile(rb'activeTab="\d+"'), b""),
        ("xl/workbook.xml", b"<sheets>", b"<!-- <sheets> --><sheets><!-- a remark -->"),
    ],
)
def test_the_list_of_sheets_as_others_write_it(
    plain: bytes, tmp_path: Path, name: str, old: bytes | re.Pattern[bytes], new: bytes
) -> None:
    def change(data: bytes) -> bytes:
        return data.replace(old, new, 1) if isinstance(old, bytes) else old.sub(new, data)

    path = saved(tmp_path, changed(plain, {name: change}))
    assert_carried(path.read_bytes(), results_of(path))


def test_a_sheet_at_its_last_column_is_told_and_left_as_it_is(plain: bytes, tmp_path: Path) -> None:
    sheet = sheet_parts(parts(plain))["Samples"]
    path = saved(
        tmp_path,
        changed(plain, {sheet: lambda data: re.sub(rb"</row>", b'<c r="XFD1"><v>1</v></c></row>', data, count=1)}),
    )
    result = parts(results_of(path))
    assert result[sheet] == parts(path.read_bytes())[sheet]
    assert any(b"Samples reaches its last column" in part for part in result.values())


def test_what_is_not_whole_is_never_written(plain: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The last check finds a byte that went astray on the way."""
    from batchcal.workbook.xlsx.markup import Part

    whole = Part.edited_pieces
    monkeypatch.setattr(
        Part, "edited_pieces", lambda self: (b"".join(whole(self)).replace(b"Firing no.", b"Firing no;"),)
    )
    content = parts(plain)
    sheet = sheet_parts(content)["Runs"]
    content[sheet] = re.sub(
        rb'(<c r="A1"[^>]*?) t="s"><v>\d+</v>', rb'\1 t="inlineStr"><is><t>Firing no.</t></is>', content[sheet]
    )
    path = saved(tmp_path, packed(content))
    with pytest.raises(WorkbookError, match=r"would not hold all of yours \(xl/worksheets/sheet2\.xml\)"):
        results_of(path)


def test_noise_in_the_parts_is_refused_or_carried(plain: bytes, tmp_path: Path) -> None:
    chance = random.Random(20261127)
    content = parts(plain)
    outcomes = set()
    for _ in range(60):
        name = chance.choice([part for part in content if part.endswith((".xml", ".rels"))])
        noisy = bytearray(content[name])
        for _ in range(chance.choice([1, 1, 3, 20])):
            noisy[chance.randrange(len(noisy))] = chance.randrange(32, 127)
        path = saved(tmp_path, packed({**content, name: bytes(noisy)}))
        try:
            result = parts(results_of(path))
        except WorkbookError:
            outcomes.add("refused")
        else:
            assert list(result)[: len(content)] == list(content)
            outcomes.add("carried")
    assert outcomes == {"refused", "carried"}
