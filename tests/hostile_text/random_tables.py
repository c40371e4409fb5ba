"""Tables of text put together at random, as exports differ: what was meant is known, so that a wrong reading shows."""

import csv
import io
import random
from dataclasses import dataclass

DELIMITERS = "\t;,|"
_REMARKS = [
    "",
    "",
    "grey ash",
    "soot; thin",
    "a, b and c",
    "lid left open",
    'the "old" one',
    "24 h",
    "ok",
    "see p. 3; 4",
]
_GERMAN = ["", "grau", "Rußfahne", "überprüft", "Öl, zäh", "größer; später", "geprüft"]
_PREAMBLES = [[], [["Laboratory", "Quarry Hill"], ["Day", "2026-10-14"]], [["Export of the day"]], [["A; B, C"], []]]


@dataclass(frozen=True)
class Made:
    """A table's bytes, how they were written, and what each cell holds: a number, a text or nothing."""

    data: bytes
    delimiter: str
    decimal: str
    encoding: str
    cells: dict[tuple[int, int], float | str]


def made(chance: random.Random) -> Made:
    delimiter, decimal = chance.choice(DELIMITERS), chance.choice(".,")
    encoding = chance.choice(["utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-16-le", "utf-16-be"])
    remarks = chance.choice([_REMARKS, _GERMAN])
    kinds = [
        "number",
        *chance.choices(["id", "mass", "rise", "date", "time", "remark", "three", "grouped"], k=chance.randint(1, 8)),
    ]
    headings = [_HEADINGS[kind] + f" {place}" for place, kind in enumerate(kinds)]
    preamble: list[list[str]] = [list(line) for line in chance.choice(_PREAMBLES)]
    cells: dict[tuple[int, int], float | str] = {}
    lines = [*preamble, headings]
    for row in range(chance.randint(2, 12)):
        line = []
        for place, kind in enumerate(kinds, 1):
            value, written = _field(chance, kind, row, decimal, remarks)
            if value != "":
                cells[len(lines) + 1, place] = value
            line.append(written)
        lines.append(line)
    for number, line in enumerate(lines[: len(preamble) + 1], 1):
        cells |= {(number, place): text for place, text in enumerate(line, 1)}
    if chance.random() < 0.2:
        lines = [_trimmed(line) if number > len(preamble) else line for number, line in enumerate(lines)]
    stream = io.StringIO()
    quoting = chance.choice([csv.QUOTE_MINIMAL, csv.QUOTE_MINIMAL, csv.QUOTE_ALL])
    end = chance.choice(["\r\n", "\n"])
    csv.writer(stream, delimiter=delimiter, quoting=quoting, lineterminator=end).writerows(lines)  # type: ignore[arg-type]
    return Made(stream.getvalue().encode(encoding), delimiter, decimal, encoding, cells)


_HEADINGS = {
    "number": "Firing no.", "id": "Sample", "mass": "Mass (g)", "rise": "Rise (K), corrected", "date": "Day",
    "time": "Time", "remark": "Remark", "three": "Weight in kg", "grouped": "Heat (J)",
}  # fmt: skip


def _field(chance: random.Random, kind: str, row: int, decimal: str, remarks: list[str]) -> tuple[float | str, str]:
    """Return what is meant and how it is written."""
    if kind == "number":
        return float(row + 1), str(row + 1)
    if kind == "id":
        text = chance.choice([f"K-{row}", f"0{row}1", f"2026/{row}", f"{row}E{row}"])
        return text, text
    if kind == "date":
        return "2026-10-14", "2026-10-14"
    if kind == "time":
        return "09:30", "09:30"
    if kind == "remark":
        text = chance.choice(remarks)
        return text, text
    figures = {"mass": 4, "rise": 5, "three": 3, "grouped": 0}[kind]
    number = chance.uniform(0.4, 30.0)
    if kind == "grouped":
        text = f"{chance.randint(1, 40)}{'.' if decimal == ',' else ','}{chance.randint(100, 999)}"
        return text, text  # groups of thousands stay text
    text = f"{number:.{figures}f}"
    return float(text), text.replace(".", decimal)


def _trimmed(line: list[str]) -> list[str]:
    while line and not line[-1]:
        line = line[:-1]
    return line
