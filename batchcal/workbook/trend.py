"""The workbook behind the long-run page: one sheet a subject, unrounded, text that stays text."""

from collections.abc import Iterable, Mapping, Sequence

from batchcal.history import Count, History, Pair, Pooled
from batchcal.workbook.long_tables import LongTables, Value

_PAIR_HEADINGS = (
    "Date", "Sample", "Fuel class", "Calorimeter", "Bomb", "Analyst code", "Basis", "First firing", "Second firing",
    "First (J/g)", "Second (J/g)", "First less second (J/g)", "Limit (J/g)", "Difference / limit", "Beyond the limit",
    "Results file",
)  # fmt: skip
_ANALYST = Pair._fields.index("analyst")
_POOLED_HEADINGS = (
    "Grouped by", "Group", "Pairs", "s_r (J/g)", "2.77 s_r (J/g)", "95 % from (J/g)", "95 % to (J/g)",
    "Smallest limit (J/g)", "Largest limit (J/g)", "2.77 s_r / limit", "95 % from", "95 % to", "Verdict",
    "Pairs with a limit", "Pairs beyond it",
)  # fmt: skip


def trend_workbook(history: History) -> bytes:
    """Return the workbook with the tables behind the long-run page; the same history gives the same bytes."""
    book, codes = LongTables(), history.analyst_codes
    book.add(
        "Heat capacity firings",
        ("Calorimeter", "Bomb", "Date", "Firing", "Heat capacity (J/K)", "Counted", "Results file"),
        (
            (
                run.apparatus.calorimeter,
                run.apparatus.bomb,
                p.date,
                p.firing,
                p.heat_capacity_J_per_K,
                p.counted,
                p.file,
            )
            for run in history.capacities
            for p in run.points
        ),
    )
    book.add(
        "Heat capacities",
        ("Calorimeter", "Bomb", "Series", "First firing on", "Dated", "Heat capacity (J/K)", "Firings", "SD (J/K)",
         "Step (J/K)", "Good until", "State", "Pooled SD (J/K)", "Degrees of freedom", "Results file"),
        (
            (run.apparatus.calorimeter, run.apparatus.bomb, s.name, s.start, s.date, s.heat_capacity_J_per_K, s.n,
             s.sd_J_per_K, s.change_J_per_K, s.expires, s.state, run.pooled_sd_J_per_K, run.degrees_of_freedom, s.file)
            for run in history.capacities
            for s in run.series
        ),
    )  # fmt: skip
    book.add(
        "Checks",
        ("Calorimeter", "Bomb", "Date", "Firing", "Recovery (%)", "Verdict", "Upward sum (SD)", "Downward sum (SD)",
         "SD judged by (%)", "Results file"),
        (
            (run.apparatus.calorimeter, run.apparatus.bomb, p.date, p.firing, 100.0 + p.off_percent, p.verdict, p.upper,
             p.lower, run.sd_percent, p.file)
            for run in history.checks
            for p in run.points
        ),
    )  # fmt: skip
    book.add("First pairs", _PAIR_HEADINGS, (_pair(pair, codes) for pair in history.pairs))
    book.add("Repeatability", _POOLED_HEADINGS, _pooled(history))
    spans = [span.name for span in history.spans]
    book.add("Fired again", ("What", *spans, "All"), (_count(count)[1:] for count in history.events))
    book.add("Findings", ("Weight", "Code", *spans, "All"), (_count(count) for count in history.findings))
    book.add("Analyst codes", ("Code", "As logged"), ((code, name) for name, code in history.analyst_codes.items()))
    read = history.read
    book.add(
        "Files",
        ("Results file", "State", "Workbook or reason", "Day"),
        [
            *((file, "counted", workbook, day) for file, workbook, day in read.counted),
            *((entry.file, "counted once", entry.why, None) for entry in read.once),
            *((entry.file, "passed over", entry.why, None) for entry in read.passed),
        ],
    )
    return book.packed()


def _pair(pair: Pair, codes: Mapping[str, str]) -> Sequence[Value]:
    """Return a pair as its row: its own fields, but the analyst's code."""
    return (*pair[:_ANALYST], codes.get(pair.analyst, pair.analyst), *pair[_ANALYST + 1 :])


def _pooled(history: History) -> Iterable[Sequence[Value]]:
    groups: list[tuple[str, Sequence[Pooled]]] = [
        ("all", () if history.pooled is None else (history.pooled,)),
        ("fuel class", history.by_fuel_class),
        ("calorimeter and bomb", history.by_apparatus),
        ("analyst", history.by_analyst),
    ]
    none = (None, None)
    for by, found in groups:
        for p in found:
            yield (
                by, p.name, p.pairs, p.sd_J_per_g, p.limit_found_J_per_g, *(p.interval_J_per_g or none),
                *(p.limits_J_per_g or none), p.ratio, *(p.ratio_interval or none), p.verdict, p.judged, p.beyond,
            )  # fmt: skip


def _count(count: Count) -> tuple[Value, ...]:
    return (count.severity, count.key, *count.by_span, count.total)
