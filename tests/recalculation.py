"""A workbook recalculated by a program that shares nothing with batchcal: LibreOffice, told to calculate on loading."""

import io
import re
import subprocess
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.worksheet.worksheet import Worksheet
from programs import program

_ALWAYS = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema"
 xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse">
<value>0</value></prop></item>
</oor:items>
"""
"""Setting of the profile by which every formula of a workbook is worked out when it is loaded."""


def recalculated(books: Mapping[str, bytes], folder: Path) -> dict[str, Any]:
    """Return the workbooks as LibreOffice saves them after calculating every formula anew; one run for all."""
    office = program("soffice")
    profile = folder / "profile"
    (profile / "user").mkdir(parents=True)
    (profile / "user" / "registrymodifications.xcu").write_text(_ALWAYS, encoding="utf-8")
    paths = []
    for name, data in books.items():
        path = folder / f"{name}.xlsx"
        path.write_bytes(data)
        paths.append(str(path))
    subprocess.run(
        [office, f"-env:UserInstallation=file://{profile}", "--headless", "--convert-to", "xlsx", "--outdir",
         str(folder / "saved"), *paths],
        check=True, capture_output=True,
    )  # fmt: skip
    return {name: openpyxl.load_workbook(folder / "saved" / f"{name}.xlsx", data_only=True) for name in books}


def number_at(data: bytes, sheet: str, address: str) -> float:
    """Return the number in a cell of a workbook."""
    return float(openpyxl.load_workbook(io.BytesIO(data))[sheet][address].value)


def with_number(data: bytes, sheet: str, address: str, value: float) -> bytes:
    """Return a workbook with the number of one cell exchanged in its part, and every stored value left as it is."""
    index = openpyxl.load_workbook(io.BytesIO(data), read_only=True).sheetnames.index(sheet)
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    identifiers = re.findall(rb'<sheet [^>]*r:id="([^"]+)"', parts["xl/workbook.xml"])
    entries = re.findall(rb"<Relationship [^>]*>", parts["xl/_rels/workbook.xml.rels"])
    entry = next(entry for entry in entries if b'Id="' + identifiers[index] + b'"' in entry)
    target = re.search(rb'Target="([^"]+)"', entry)
    assert target is not None
    name = "xl/" + target[1].decode().removeprefix("/xl/")
    cell = rf'(<c r="{address}"[^>]*>)(?:<v>[^<]*</v>)'.encode()
    parts[name], count = re.subn(cell, rb"\g<1><v>" + repr(value).encode() + b"</v>", parts[name])
    assert count == 1, (sheet, address)
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as package:
        for part, content in parts.items():
            package.writestr(part, content)
    return stream.getvalue()


def row_of(sheet: Worksheet, name: str, section: str = "") -> int:
    """Return the row of a name in the first column of Working, the first below the band of ``section``."""
    below = not section
    for row in range(7, sheet.max_row + 1):
        value = sheet.cell(row, 1).value
        if section and isinstance(value, str) and value.startswith(section):
            below = True
        if below and value is not None and str(value) == name:
            return row
    raise LookupError(name)
