"""The flat, rounded, worded view of an Evaluation: all that stands on the page, as text, in the page's order."""

from collections.abc import Callable, Sequence

from msgspec import Struct
from msgspec.structs import replace

import batchcal
from batchcal.findings import CAUTION, Finding, Severity
from batchcal.items import SETUP_ITEMS
from batchcal.model import Evaluation, Quantity, Settings
from batchcal.report import charts, drawings, ladder, record, working
from batchcal.report.apparatus import ApparatusView, apparatus_view
from batchcal.report.curves import CurvesView, curves_view
from batchcal.report.release import ChangesView, changes_view
from batchcal.report.samples import SamplesView, net_in_words, samples_view
from batchcal.report.selection import OlderRow, select
from batchcal.report.words import aligned, at, counted, date, fixed, joined, place, places, plain
from batchcal.terms import AcidScheme, Decision, FiringState

Printed = Callable[[float], str]
"""From J/g to the printed text in the report unit, rounded once."""

STANDING_CAUTION = (
    "Oxygen under pressure and burning charges injure. This page sees numbers typed after the fact and calls no "
    "equipment safe. " + CAUTION
)

FOLDED = (
    "On paper only opened parts appear. Settings and constants stand in the results workbook too, on Record; "
    "corrections beside each row, unrounded."
)

DECISION_WORDS = {
    Decision.READY: "may be reviewed and signed",
    Decision.REPEAT: "fire again",
    Decision.WAIT: "another bench or a new series is awaited",
    Decision.HOLD: "a question is open",
}

_SHORT = 24
"""Longest list of places that stands beside a title, in characters."""

_SPELT_OUT = 4
"""Up to this many findings of a kind are each given in full."""


class FindingGroup(Struct, frozen=True):
    """All findings of one kind: said once, with the places where it was found."""

    code: str
    severity: Severity
    title: str
    count: int
    messages: tuple[str, ...]
    remedies: tuple[str, ...]
    where: tuple[str, ...]

    @property
    def near(self) -> str:
        """The places where they are so few that they stand beside the title, or ""."""
        text = "; ".join(self.where)
        return text if len(text) <= _SHORT else ""


class Verdict(Struct, frozen=True):
    """How many samples have one decision."""

    decision: Decision
    count: int
    words: str


class CorrectionRow(Struct, frozen=True):
    """What was worked out for one firing; the columns of numbers are padded to align on the decimal mark."""

    firing: str
    purpose: str
    where: str
    state: str
    used: bool
    numbers: tuple[str, ...]
    anchor: str


class PageView(Struct, frozen=True):
    """The whole page as text; the template lays it out and computes nothing."""

    title: str
    laboratory: str
    facts: tuple[tuple[str, str], ...]
    draft: str
    changes: ChangesView | None
    caution: str
    safety: tuple[FindingGroup, ...]
    unchecked: str
    verdicts: tuple[Verdict, ...]
    verdict_note: str
    net: str
    rungs: tuple[ladder.Rung, ...]
    keep: str
    plan_caution: str
    apparatus: ApparatusView
    samples: SamplesView
    selection: str
    """What of a long log is shown in detail, or "" where everything is."""
    older: tuple[OlderRow, ...]
    ratio: drawings.RatioChart | None
    dots: tuple[drawings.DotChart, ...]
    acid: drawings.ColumnChart | None
    curves: CurvesView | None
    corrections_about: str
    corrections_note: str
    corrections: tuple[CorrectionRow, ...]
    findings: tuple[FindingGroup, ...]
    unseen: tuple[str, ...]
    resolution: str
    working: tuple[working.Part, ...]
    folded: str
    input_file: str
    input_hash: str
    version: str
    settings_hash: str
    settings: tuple[record.SettingRow, ...]
    blank_settings: str
    constants: tuple[record.ConstantRow, ...]


CORRECTION_HEADINGS = (
    ("Mass", "g"),
    ("Rise", "K"),
    ("Heat exchange", "K"),
    ("Heat capacity", "J/K"),
    ("Ignition", "J"),
    ("Aid", "J"),
    ("Nitric", "J"),
    ("Sulphuric", "J"),
    ("Gross, as analysed", "J/g"),
)


def page_view(
    evaluation: Evaluation, printed: Printed, constants: Sequence[Quantity], method_title: str = ""
) -> PageView:
    """Return everything the page says about ``evaluation``.

    ``constants`` are the figures in force beside Setup's own; ``method_title`` is the method's name in words.
    """
    settings = evaluation.settings
    chosen = select(evaluation)
    shown = chosen.shown
    out = frozenset(finding.firing for finding in evaluation.findings if finding.code == "check-out" and finding.firing)
    batch = settings.batch or evaluation.batch.file_name
    return PageView(
        title=batch,
        laboratory=settings.laboratory,
        facts=_facts(evaluation, method_title),
        draft=evaluation.release.words,
        changes=changes_view(evaluation),
        caution=STANDING_CAUTION,
        safety=grouped([finding for finding in evaluation.findings if finding.severity is Severity.SAFETY]),
        unchecked=_unchecked(settings),
        verdicts=_verdicts(evaluation),
        verdict_note=_verdict_note(evaluation),
        net=net_in_words(evaluation.samples),
        rungs=ladder.rungs(evaluation, shown),
        keep=ladder.washings_to_keep(evaluation),
        plan_caution=ladder.plan_caution(evaluation),
        apparatus=_apparatus(evaluation, shown, out),
        samples=samples_view(shown, printed),
        selection=chosen.note,
        older=chosen.older,
        ratio=charts.ratio_chart(shown.samples),
        dots=_dots(evaluation, shown, out),
        acid=charts.acid_chart(shown),
        curves=curves_view(shown),
        corrections_about=_corrections_about(evaluation, shown),
        corrections_note=_corrections_note(settings),
        corrections=_corrections(shown),
        findings=grouped(evaluation.findings),
        unseen=_UNSEEN,
        resolution=_resolution(evaluation),
        working=working.parts(shown),
        folded=FOLDED,
        input_file=evaluation.batch.file_name,
        input_hash=evaluation.batch.sha256,
        version=f"batchcal {batchcal.__version__}",
        settings_hash=evaluation.settings_sha256,
        settings=record.setting_rows(evaluation),
        blank_settings=joined(record.blank_items(evaluation)),
        constants=record.constant_rows(constants),
    )


def grouped(findings: Sequence[Finding]) -> tuple[FindingGroup, ...]:
    """Return findings with those of one code and severity folded together, most severe first."""
    groups: dict[tuple[int, str], list[Finding]] = {}
    for finding in findings:
        groups.setdefault((finding.severity.rank, finding.code), []).append(finding)
    views = []
    for (_, code), group in sorted(groups.items(), key=lambda item: item[0][0]):
        messages = list(dict.fromkeys(finding.message for finding in group))
        remedies = list(dict.fromkeys(finding.remedy for finding in group))
        if len(messages) > _SPELT_OUT:
            messages = [f"For example: {messages[0]}"]
            remedies = remedies[:1]
        views.append(
            FindingGroup(
                code,
                group[0].severity,
                group[0].kind.trigger[0].upper() + group[0].kind.trigger[1:],
                len(group),
                tuple(messages),
                tuple(remedies),
                places(group),
            )
        )
    return tuple(views)


def _facts(evaluation: Evaluation, method_title: str) -> tuple[tuple[str, str], ...]:
    settings = evaluation.settings
    method = settings.method or "none named"
    return (
        ("Batch date", date(settings.batch_date)),
        ("Method", f"{method_title} ({method})" if method_title else method),
        ("Acid scheme", settings.acid_scheme or "none named"),
        ("Analyst", settings.analyst or "not named"),
        ("Reviewer", settings.reviewer or "not named"),
        ("From", evaluation.batch.file_name),
    )


def _unchecked(settings: Settings) -> str:
    names = [item.name.lower() for item in SETUP_ITEMS if item.safety and getattr(settings, item.key) is None]
    if not names:
        return ""
    return f"No limit on Setup, so not checked: {joined(names)}. None is assumed."


def _verdicts(evaluation: Evaluation) -> tuple[Verdict, ...]:
    counts = dict.fromkeys(Decision, 0)
    for sample in evaluation.samples:
        counts[sample.decision] += 1
    over = sum(bool(sample.released_over) for sample in evaluation.samples)
    remarks = {Decision.READY: f", {over} of them over a finding" if over else ""}
    out = len(evaluation.release.samples)
    words = {**DECISION_WORDS, Decision.READY: "released"} if out and out == counts[Decision.READY] else DECISION_WORDS
    return tuple(
        Verdict(decision, count, words[decision] + remarks.get(decision, ""))
        for decision, count in counts.items()
        if count
    )


def _verdict_note(evaluation: Evaluation) -> str:
    stops = [finding for finding in evaluation.findings if finding.severity.stops]
    computed = sum(firing.state in (FiringState.USED, FiringState.PROVISIONAL) for firing in evaluation.firings)
    text = f"{counted(len(evaluation.samples), 'sample')}, {computed} of {counted(len(evaluation.firings), 'firing')} "
    text += "in use."
    if stops:
        return (
            f"{text} {counted(len(stops), 'finding')} stand in the way of release."
            if len(stops) > 1
            else (f"{text} One finding stands in the way of release.")
        )
    return text + " No finding stands in the way of release."


def _apparatus(evaluation: Evaluation, shown: Evaluation, out: frozenset[str]) -> ApparatusView:
    """Return the state of the apparatus, of a long log with the check firings that are shown."""
    view = apparatus_view(evaluation, out)
    names = {working.firing_anchor(firing.row.place) for firing in shown.firings}
    checks = tuple(check for check in view.checks if check.anchor in names)
    left = len(view.checks) - len(checks)
    if not left:
        return view
    missed = sum(check.judged == "out" for check in view.checks) - sum(check.judged == "out" for check in checks)
    earlier = f"{missed or 'none'} of the earlier {left} {'are' if missed > 1 else 'is'} out"
    note = f"The last {len(checks)} of {len(view.checks)} check firings; {earlier}."
    return replace(view, checks=checks, check_note=f"{view.check_note} {note}")


def _dots(evaluation: Evaluation, shown: Evaluation, out: frozenset[str]) -> tuple[drawings.DotChart, ...]:
    drawn = [
        charts.heat_capacity_chart(series, shown.firings, f"series-{number}")
        for number, series in enumerate(evaluation.series, start=1)
    ]
    return tuple(chart for chart in (*drawn, charts.check_chart(evaluation, out)) if chart is not None)


def _corrections_about(evaluation: Evaluation, shown: Evaluation) -> str:
    every = counted(len(evaluation.firings), "firing")
    whose = every if len(shown.firings) == len(evaluation.firings) else f"{len(shown.firings)} of {every}"
    return f"{whose}: mass, rise, heats, heat capacity and value"


def _corrections_note(settings: Settings) -> str:
    exchange = "Heat exchange is added to the rise; a blank stands as 0."
    if settings.acid_scheme is AcidScheme.NONE:
        return f"No correction for nitric and sulphuric acid was made (acid scheme none). {exchange}"
    return exchange


def _corrections(evaluation: Evaluation) -> tuple[CorrectionRow, ...]:
    columns = [
        aligned(texts)
        for texts in zip(
            *(
                (
                    fixed(firing.mass_g, 4),
                    fixed(firing.rise_K, 4),
                    fixed(firing.heat_exchange_K, 4, sign=True),
                    fixed(firing.heat_capacity_J_per_K, 1),
                    fixed(firing.ignition_J, 1),
                    fixed(firing.aid_J, 1),
                    fixed(firing.nitric_J, 1),
                    fixed(firing.sulphuric_J, 1),
                    fixed(firing.gross_ad_J_per_g, 1),
                )
                for firing in evaluation.firings
            ),
            strict=True,
        )
    ]
    return tuple(
        CorrectionRow(
            firing.name,
            " ".join(filter(None, (firing.purpose or "", firing.row.sample, firing.row.replicate))),
            place(firing.row.place),
            firing.state,
            firing.state is FiringState.USED,
            tuple(column[index] for column in columns),
            working.firing_anchor(firing.row.place),
        )
        for index, firing in enumerate(evaluation.firings)
    )


_UNSEEN = (
    "An error that both firings of a pair share (the wrong bag, the moisture, the heat capacity, the thermometer) "
    "leaves no trace in their difference.",
    "A wrong but plausible sample number, mass or titre looks like a right one.",
    "Soot, spatter or a leak that nobody wrote down is not in the numbers.",
)


def _resolution(evaluation: Evaluation) -> str:
    worth = evaluation.resolution
    if worth is None:
        return "What one step of the temperature reading is worth could not be worked out from this workbook."
    step = evaluation.settings.reading_resolution
    origin = step.cell or "as Setup says" if worth.from_setup and step else "taken from the decimals typed"
    text = (
        f"One step of the reading ({plain(worth.step_K)} K, {origin}) is worth "
        f"{fixed(worth.worth_J_per_g, 0 if worth.worth_J_per_g >= 10 else 1)} J/g at "
        f"{fixed(worth.heat_capacity_J_per_K, 0)} J/K and {fixed(worth.mass_g, 2)} g"
    )
    limit = evaluation.settings.repeatability_limit
    return f"{text}; the repeatability limit is {plain(limit.value)} J/g{at(limit)}." if limit else f"{text}."
