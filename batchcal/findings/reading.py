"""Findings of the reading: cells, headings and words that cannot be trusted."""

from batchcal.findings.kinds import Severity, kinds
from batchcal.terms import Decision

READING = kinds(
    Severity.BLOCK,
    "Reading",
    (
        "number-as-text",
        "a number column holds a number typed as text",
        "{where}, {heading}: the text '{read}' stands where a number is needed.",
        "Type {read} again as a number (format the cell as a number first). Nothing was assumed.",
        Decision.HOLD,
    ),
    (
        "decimal-comma",
        "a number column holds text with a comma, which may mark decimals or thousands",
        "{where}, {heading}: '{read}' is text with a comma: decimals or thousands?",
        "Type the number again with the decimal mark of your spreadsheet program, so that it aligns right.",
        Decision.HOLD,
    ),
    (
        "stray-unit",
        "a number column holds a number with a unit behind it",
        "{where}, {heading}: '{read}' has a unit or other text behind the number.",
        "Type the number alone; the unit belongs in the heading or in the Unit column.",
        Decision.HOLD,
    ),
    (
        "text-in-number",
        "a number column holds text",
        "{where}, {heading}: '{read}' is not a number.",
        "Type the number, or leave the cell blank and put the word in Remark.",
        Decision.HOLD,
    ),
    (
        "error-cell",
        "a cell shows a spreadsheet error",
        "{where}, {heading}: the cell shows {read}.",
        "Cure the formula or the cell it refers to, recalculate and save.",
        Decision.HOLD,
    ),
    (
        "date-in-number",
        "a number column holds a date or a time",
        "{where}, {heading}: the cell holds the date or time {read}.",
        "The spreadsheet program may have turned a typed number into a date: format the cell as a number and "
        "type it again.",
        Decision.HOLD,
    ),
    (
        "per-cent-format",
        "a number stands in a cell that is formatted as per cent, so that it shows a hundred times what it stores",
        "{where}, {heading}: the cell shows {shown} and stores {read}.",
        "Format the cell as a plain number and type the figure in the unit of its heading or Unit column.",
        Decision.HOLD,
    ),
    (
        "yes-no-in-number",
        "a number column holds TRUE or FALSE",
        "{where}, {heading}: the cell holds {read}, not a number.",
        "Type the number, or clear the cell.",
        Decision.HOLD,
    ),
    (
        "number-beyond-reach",
        "a number is not finite",
        "{where}, {heading}: {read} is beyond any number that can be worked with.",
        "Type the number again.",
        Decision.HOLD,
    ),
    (
        "formula-without-value",
        "a formula has no stored value",
        "{where}, {heading}: the formula has never been calculated, so there is no value to read.",
        "Open the workbook in a spreadsheet program, recalculate, save, and run again.",
        Decision.HOLD,
    ),
    (
        "identifier-as-date",
        "an id column holds a date",
        "{where}, {heading}: the spreadsheet program turned what was typed into the date {read}.",
        "Format the column as text and type the number or name again.",
        Decision.HOLD,
    ),
    (
        "identifier-unreadable",
        "an id column holds TRUE, FALSE or a number with decimals or of more than 15 digits",
        "{where}, {heading}: {read} cannot be taken as a name without guessing.",
        "Format the column as text and type the number or name again.",
        Decision.HOLD,
    ),
    (
        "word-not-in-list",
        "a cell holds a word that is not in its list",
        "{where}, {heading}: '{read}' is none of: {choices}.",
        "Choose one of these words, or leave the cell blank where that is allowed.",
        Decision.HOLD,
    ),
    (
        "date-unreadable",
        "a date column holds something that is not a date",
        "{where}, {heading}: '{read}' is not stored as a date.",
        "Type the date again so that the program takes it as one (year-month-day is always understood).",
        Decision.HOLD,
    ),
    (
        "heading-unit-unknown",
        "a heading names a unit that is not read, or none where there is a choice",
        "{where}: the heading '{read}' {problem}.",
        "Put one of these units into the heading, in brackets: {choices}.",
        Decision.HOLD,
    ),
    (
        "heading-twice",
        "two columns of a sheet have the same meaning",
        "{where}: '{read}' means the same as column {other}; neither is read.",
        "Keep one of the two columns under this heading and rename the other.",
        Decision.HOLD,
    ),
)
