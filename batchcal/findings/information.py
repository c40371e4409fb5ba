"""Findings for information."""

from batchcal.findings.kinds import Severity, kinds

INFORMATION = kinds(
    Severity.NOTE,
    "For information",
    (
        "firing-excluded",
        "the outcome or purpose of a firing keeps it out of the results",
        "Firing {firing} is not computed: {why}.",
        "Nothing to do; the row and its reason are kept.",
    ),
    (
        "firing-set-aside",
        "a firing is set aside with a reason",
        "Firing {firing} is set aside: {why}.",
        "Nothing to do; the row and its reason are kept.",
    ),
    (
        "no-acid-correction",
        "the acid scheme is none",
        "Sample {sample}: no correction for nitric and sulphuric acid was made (acid scheme none).",
        "Say so on the report.",
    ),
    (
        "aid-heat-found",
        "the heat of an aid was found from aid firings",
        "Aid {aid}: {found} J/g from {n} firings{spread}.",
        "Enter it on Setup as Aid heat [{aid}] with this batch as its Source, so that later days can use it.",
    ),
    (
        "titre-not-used",
        "titres are logged and the acid scheme does not use them",
        "{count} titrations are logged; the scheme '{scheme}' does not use them.",
        "Nothing to do; they are kept.",
    ),
    (
        "sample-without-firing",
        "a sample on Samples was not fired",
        "{where}: sample {sample} was not fired today.",
        "Nothing to do if it is planned for another day.",
    ),
    (
        "sheet-not-read",
        "a sheet has the name of one that is read, and other headings",
        "{where}: this sheet has not the headings that are read under its name; it is carried along and not read.",
        "Nothing to do if it is a sheet of your own; else compare its headings with the blank workbook.",
    ),
    (
        "column-not-read",
        "a column's heading is not one that is read",
        "{where}: these columns are carried along and not read: {headings}.",
        "Nothing to do, unless one of them was meant to be read: compare its heading with the blank workbook.",
    ),
    (
        "results-in-new-workbook",
        "a file that is no .xlsx or .xlsm workbook was read, so the results workbook is a new one",
        "{file} is no .xlsx or .xlsm workbook, so the results stand in a new one with the values of your cells: "
        "without your formulas, formats, column widths, drop-down lists, comments, pictures and charts.",
        "Nothing to do; your own file is untouched. Keep the log as .xlsx to have all of it beside the results.",
    ),
    (
        "table-of-text-read",
        "a .csv was read",
        "{file} was read as {encoding}, its fields parted by a {delimiter}, its numbers with a decimal {decimal}.",
        "Nothing to do if that is so; else say what is right under [csv] in the map of its columns.",
    ),
    (
        "resolution-worth",
        "one step of the temperature reading is worth more than a tenth of the limit",
        "One step of {step} K in the reading is worth {worth} J/g at {capacity} J/K and {mass} g; the "
        "repeatability limit is {limit} J/g.",
        "Read to a finer step if the thermometer allows it, or weigh more within the lab's limits.",
    ),
    (
        "net-not-computed",
        "a sample has no net calorific value",
        "No net value for {samples}: {why}.",
        "Enter the hydrogen with its basis on Samples where net values are wanted.",
    ),
    (
        "net-rests-on",
        "a net value rests on an assumption or an estimate",
        "Net value of {samples}: {notes}.",
        "State it on the report.",
    ),
)
