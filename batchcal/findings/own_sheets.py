"""Findings about a lab's own sheets: what a map leaves open, where it does not fit, and what was read by it."""

from batchcal.findings.kinds import Severity, kinds
from batchcal.terms import Decision

OWN_SHEETS = (
    *kinds(
        Severity.BLOCK,
        "Own sheets",
        (
            "map-not-fitting",
            "a column map names a sheet or a label that the workbook has not",
            "The column map {map} does not fit: {why}.",
            "Give the map that was made for this workbook, or make one anew with batchcal columns.",
        ),
        (
            "headings-changed",
            "the headings of a sheet are not those of its column map",
            "{where}: the headings are not those of the column map {map}: {changes}.",
            "Look whether a column was moved or renamed on purpose; then make the map anew with batchcal columns.",
        ),
        (
            "map-open",
            "a column map holds questions that nobody has answered",
            "The column map {map} leaves open: {questions}.",
            'Put the answer in place of each "?" in the map, or run batchcal columns at a terminal, where it asks.',
        ),
        (
            "replicate-contents-differ",
            "the firings of a sample carry different contents on a lab's own sheet",
            "{where}, {heading}: {read}, but {other} for the same sample {sample}.",
            "Correct the one that is wrong; nothing of this content was taken.",
            Decision.HOLD,
        ),
        (
            "column-fits-two",
            "a column of a lab's own sheet may be more than one thing",
            "{where}: '{read}' may be {fields}.",
            "Say which it is; nothing is guessed.",
        ),
        (
            "column-name-short",
            "a column of a lab's own sheet is headed by one or two letters",
            "{where}: '{read}' is too short to be taken on its name{fields}.",
            "Say what it is; nothing is guessed.",
        ),
        (
            "column-words-unchecked",
            "a heading is known only in a language that was not read by us",
            "{where}: '{read}' is proposed as {fields}, in {language}, which nobody here has checked.",
            "Confirm it, or say what it is.",
        ),
        (
            "column-values-unusual",
            "a column is headed as one thing and its values do not look like it",
            "{where}: '{read}' is headed as {fields}, but {why}.",
            "Say what it is; nothing is guessed.",
        ),
        (
            "columns-fit-one",
            "two columns of a lab's own sheet fit the same heading",
            "{where}: '{read}' and {other} both fit {fields}.",
            "Say which of them is meant; the other is carried along.",
        ),
        (
            "column-unit-open",
            "the unit of a column is not known and its values allow more than one",
            "{where}: '{read}' ({means}) names no unit that is read{why}.",
            "Say the unit; nothing is guessed.",
        ),
        (
            "column-basis-open",
            "a column of contents or results does not name its basis",
            "{where}: '{read}' ({means}) does not name its basis.",
            "Say the basis once; the map keeps it.",
        ),
        (
            "column-decimals-open",
            "the numbers of a column are typed as text with a comma",
            "{where}: '{read}' holds text with a comma in all of its {count} numbers.",
            "Say whether the comma marks decimals; the map keeps it.",
        ),
        (
            "column-part-open",
            "a row holds several test portions and a weighing or reading names none of them",
            "{where}: '{read}' ({means}) does not say which test portion it is of.",
            "Say which; nothing is guessed.",
        ),
        (
            "titrant-open",
            "a lab's own sheet has titres and does not name the titrant or the unit of its strength",
            "{where}: titres are read and {what} is nowhere on the sheet.",
            "Say which it is; the map keeps it for every row.",
        ),
        (
            "sheet-name-open",
            "a number that is needed stands in no column, and may be the name of the sheet",
            "{where}: no column is the {what}. Is it the name of the sheet ({names})?",
            "Say yes or no; the map keeps it.",
        ),
        (
            "purpose-open",
            "rows of a lab's own sheet may be benzoic acid",
            "{where}: '{read}' stands in {rows}: calibration, check or a sample?",
            "Say which; the map keeps the word.",
        ),
        (
            "language-open",
            "the headings of a sheet are mostly in a language that was not read by us",
            "{where}: {count} of {of} known headings are {language}, which nobody here has checked. Read them so?",
            "Look through the proposal and say yes or no; nothing is preferred until you have said so.",
        ),
    ),
    *kinds(
        Severity.REVIEW,
        "Own sheets",
        (
            "sheet-beside-map",
            "a sheet has the headings of a table of the column map, which does not name it",
            "{where}: these are the headings of sheet {other}; the column map {map} names that one only, and this "
            "sheet is not read.",
            'If its firings belong here, write sheet = "*" in the map, or make the map anew with batchcal columns.',
        ),
    ),
    *kinds(
        Severity.NOTE,
        "Own sheets",
        (
            "firing-number-made",
            "a lab's own sheet gives its firings no number",
            "{sheets}: the firings have no number; it is made from the row and the test portion, as in {example}.",
            "Nothing to do; with a column of running numbers a firing keeps its name when rows are moved.",
        ),
        (
            "decimals-by-map",
            "numbers that are typed as text with a decimal comma were read as the column map says",
            "{where}, {heading}: {count} numbers typed as text with a comma were read with decimals behind it.",
            "Nothing to do; the column map says so.",
        ),
        (
            "row-not-fired",
            "a row of a lab's own sheet has neither weighings nor temperatures",
            "{where}: no firing is read from {rows}, for want of a weighing and a temperature.",
            "Nothing to do where they are notes or planned firings.",
        ),
        (
            "form-without-columns",
            "the firings stand on forms",
            "{sheets}: the firings stand on forms, beside which no computed columns are written.",
            "Look on the sheet Results and on the summary page.",
        ),
    ),
)
