"""Who worked, by which method, what is required and how it is printed."""

from batchcal.items.item import SetupItem
from batchcal.terms import METHOD_KEYS, NET, REPORT_UNITS, AcidScheme, Basis, DecimalMark, FurtherTestRule

DAY: tuple[SetupItem, ...] = (
    SetupItem("laboratory", "Laboratory", "text", "Name and place, as it shall stand on the page."),
    SetupItem("batch", "Batch", "text", "Your name for this day's work."),
    SetupItem(
        "batch_date",
        "Batch date",
        "date",
        "Day of the firings; stands in for a blank Date on Runs, unless a row there names another day.",
    ),
    SetupItem("analyst", "Analyst", "text", "Who fired and logged."),
    SetupItem("reviewer", "Reviewer", "text", "Second person who checks and signs; not the analyst."),
    SetupItem("method", "Method", "choice", "Key of the method followed; `lab` for your own.", choices=METHOD_KEYS),
    SetupItem(
        "acid_scheme",
        "Acid scheme",
        "choice",
        "How the acid heats are found; decides nitric and sulphuric together.",
        choices=tuple(AcidScheme),
    ),
    SetupItem(
        "comparison_basis",
        "Comparison basis",
        "choice",
        "Basis on which replicates are compared with the limit.",
        choices=(Basis.AS_ANALYSED, Basis.DRY),
    ),
    SetupItem(
        "further_test_rule",
        "Further-test rule",
        "choice",
        "What is done when two firings disagree. Blank: range.",
        choices=tuple(FurtherTestRule),
    ),
    SetupItem(
        "repeatability_limit",
        "Repeatability limit",
        "number",
        "Your limit for two firings, or `method` with a Source to confirm the method's. Blank: no verdict.",
        quantity="energy per mass",
        unit="J/g",
        from_method=True,
    ),
    SetupItem(
        "bases_required",
        "Bases required",
        "choices",
        "Bases a result must be given on before release, e.g. `ad, d, ar`; with `net`, net values as well.",
        choices=(*Basis, NET),
    ),
    SetupItem("report_unit", "Report unit", "choice", "Unit of the printed results.", choices=REPORT_UNITS),
    SetupItem(
        "report_rounding",
        "Report rounding",
        "number",
        "Step of the printed figure in the report unit, e.g. 10. Results are rounded once, at the end.",
    ),
    SetupItem(
        "decimal_mark",
        "Decimal mark",
        "choice",
        "Of figures on the page and the certificate. Blank: point. Sheets hold numbers, which your spreadsheet program "
        "shows in its own way.",
        choices=tuple(DecimalMark),
    ),
)
