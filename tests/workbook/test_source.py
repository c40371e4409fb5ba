"""Files that are no workbook, or a broken one: one clear line each, and never anything but WorkbookError."""

import contextlib
import io
import random
import zipfile
from pathlib import Path

import pytest
from logbook import plain_log, run

from batchcal.errors import WorkbookError
from batchcal.workbook.reader import read_workbook
from batchcal.workbook.source import open_source

OLE = bytes.fromhex("D0CF11E0A1B11AE1")


def refused(path: Path) -> str:
    with pytest.raises(WorkbookError) as caught:
        open_source(path)
    text = str(caught.value)
    assert path.name in text
    assert "\n" not in text
    return text


def written(folder: Path, data: bytes, name: str = "day.xlsx") -> Path:
    path = folder / name
    path.write_bytes(data)
    return path


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty"),
        (b"Firing no.;Mass\n1;1,0\n", "not a workbook"),
        (b"PK\x03\x04 and then nothing", "not a workbook"),
        (OLE + b"\0" * 2048, ".xls"),
        (OLE + b"\0" * 512 + "EncryptedPackage".encode("utf-16-le") + b"\0" * 512, "password"),
    ],
)
def test_what_is_no_workbook(tmp_path: Path, data: bytes, says: str) -> None:
    assert says in refused(written(tmp_path, data))


def test_other_endings_folders_and_absent_files(tmp_path: Path) -> None:
    assert ".xlsx" in refused(written(tmp_path, b"a,b\n", "day.txt"))
    (tmp_path / "folder.xlsx").mkdir()
    refused(tmp_path / "folder.xlsx")
    refused(tmp_path / "absent.xlsx")


def test_a_zip_of_something_else(tmp_path: Path) -> None:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as package:
        package.writestr("letter.txt", "dear")
    assert "not a workbook" in refused(written(tmp_path, stream.getvalue()))


def test_cut_short(tmp_path: Path) -> None:
    data = plain_log(2.5, 2.5).bytes()
    for size in (10, len(data) // 2, len(data) - 30):
        refused(written(tmp_path, data[:size]))


@pytest.mark.parametrize(
    "part",
    ["[Content_Types].xml", "xl/workbook.xml", "xl/worksheets/sheet1.xml", "xl/styles.xml", "_rels/.rels",
     "xl/_rels/workbook.xml.rels"],
)  # fmt: skip
@pytest.mark.parametrize("content", [b"", b"<a><b></a>", b"not xml", b"\xff\xfe\x00", None])
def test_a_part_that_is_broken_or_gone(tmp_path: Path, part: str, content: bytes | None) -> None:
    source = zipfile.ZipFile(io.BytesIO(plain_log(2.5, 2.5).bytes()))
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as package:
        for name in source.namelist():
            if name != part:
                package.writestr(name, source.read(name))
            elif content is not None:
                package.writestr(name, content)
    path = written(tmp_path, stream.getvalue())
    if part in ("xl/styles.xml", "_rels/.rels"):  # the values can be read without these
        with contextlib.suppress(WorkbookError):
            read_workbook(open_source(path))
        return
    with pytest.raises(WorkbookError) as caught:
        read_workbook(open_source(path))
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 250


def test_noise_in_the_parts_raises_nothing_else(tmp_path: Path) -> None:
    chance = random.Random(20261014)
    source = zipfile.ZipFile(io.BytesIO(plain_log(2.5, 2.5).bytes()))
    parts = {name: source.read(name) for name in source.namelist()}
    outcomes = set()
    for _ in range(150):
        name = chance.choice([part for part in parts if part.startswith("xl/")])
        noisy = bytearray(parts[name])
        for _ in range(chance.choice([1, 1, 3, 20])):
            noisy[chance.randrange(len(noisy))] = chance.randrange(32, 127)
        stream = io.BytesIO()
        with zipfile.ZipFile(stream, "w") as package:
            for other, data in parts.items():
                package.writestr(other, bytes(noisy) if other == name else data)
        try:
            read_workbook(open_source(written(tmp_path, stream.getvalue())))
        except WorkbookError:
            outcomes.add("refused")
        else:
            outcomes.add("read")
    assert outcomes == {"refused", "read"}


def test_a_number_beyond_every_float_is_a_finding(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.rows["Runs"][0]["Temperature rise (K)"] = 987654321
    source = zipfile.ZipFile(io.BytesIO(log.bytes()))
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as package:
        for name in source.namelist():
            package.writestr(name, source.read(name).replace(b"<v>987654321</v>", b"<v>1E309</v>"))
    from batchcal.evaluate import evaluate

    evaluation = evaluate(read_workbook(open_source(written(tmp_path, stream.getvalue()))))
    finding = next(f for f in evaluation.findings if f.code == "number-beyond-reach")
    assert (finding.sheet, finding.cell) == ("Runs", "AB2")
    assert evaluation.firings[0].gross_ad_J_per_g is None


def test_a_sheet_absent_empty_or_without_rows(tmp_path: Path) -> None:
    import openpyxl

    path = plain_log(2.5, 2.5).save(tmp_path)
    for sheet in ("Setup", "Runs"):
        book = openpyxl.load_workbook(path)
        del book[sheet]
        other = tmp_path / f"no_{sheet}.xlsx"
        book.save(other)
        with pytest.raises(WorkbookError, match=f"no sheet {sheet}"):
            read_workbook(open_source(other))
        book.create_sheet(sheet)
        book.save(other)
        with pytest.raises(WorkbookError, match=f"{sheet} is empty"):
            read_workbook(open_source(other))
    log = plain_log(2.5, 2.5)
    log.rows["Runs"] = []
    with pytest.raises(WorkbookError, match="no firing rows"):
        run(log, tmp_path)


def test_calibration_is_needed_unless_setup_gives_the_heat_capacity(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    assert run(log, tmp_path).all_ready
    del log.setup["Effective heat capacity"]
    with pytest.raises(WorkbookError, match="no sheet Calibration"):
        run(log, tmp_path)


@pytest.mark.parametrize(
    ("scheme", "needed"),
    [
        ("total as nitric", True), ("sulphur apart", True), ("two titrations", True), ("Total as Nitric", True),
        ("proportion", False), ("fixed", False), ("none", False),
    ],
)  # fmt: skip
def test_titration_is_needed_only_where_the_scheme_uses_titres(tmp_path: Path, scheme: str, needed: bool) -> None:
    log = plain_log(2.5, 2.5)
    log.setup["Acid scheme"] = (scheme,)
    if needed:
        with pytest.raises(WorkbookError, match="no sheet Titration"):
            run(log, tmp_path)
    else:
        run(log, tmp_path)
