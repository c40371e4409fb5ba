"""Contents that do not add up, hydrogen that holds that of the moisture or is a usual value, and chlorine."""

from collections.abc import Iterator, Sequence

from msgspec import Struct

from batchcal import reference
from batchcal.evaluate.charge import EQUALITY
from batchcal.evaluate.contents import Contents
from batchcal.evaluate.net import net_values
from batchcal.evaluate.slips.analyses import Analysis, full_analysis, moisture_beside, moistures_doubtful
from batchcal.evaluate.slips.day import Day, Slip
from batchcal.evaluate.wording import habit
from batchcal.formulas import net, statistics
from batchcal.formulas.trend import trend
from batchcal.logged import SampleRow
from batchcal.terms import Basis, YesNo

FEWEST = 4
"""Samples that must point the same way before hydrogen is suspected to hold that of the moisture; no source."""

TELLING = 4.0
"""Standard deviations by which the slope against the moisture must differ from none; no source."""

AROUND_ONE = (0.6, 1.4)
"""Slope, in units of what the hydrogen of the moisture makes, that is taken for it; no source."""

CLOSED = 0.3
"""Sums within this of 100 % say nothing of the hydrogen: the oxygen may have been found by difference; no source."""

SAME = 4
"""Samples with the same hydrogen from which a usual value is supposed; common practice, no source."""

_SHOWN = 6
"""Samples that a message names at most."""


def find(day: Day) -> Iterator[Slip]:
    """Yield sums that are off, hydrogen that does not look measured, and chlorine above the lab's own limit."""
    for entry in day.contents.values():
        yield from _proximate(entry)
        yield from _full(entry)
        yield from _chlorine(day, entry)
    yield from _holds_moisture(day)
    yield from _same_hydrogen(day)


def _proximate(entry: Contents) -> Iterator[Slip]:
    moisture = entry.moisture_analysis
    ash, volatile = entry.on_dry("ash"), entry.on_dry("volatile")
    if entry.row is None or moisture is None or ash is None or volatile is None or moistures_doubtful(entry):
        return
    part = (100.0 - moisture) / 100.0
    total = moisture + (ash + volatile) * part
    if total > reference.constant("proximate-sum-highest").value * (1 + EQUALITY):
        terms = f"moisture {moisture:.2f}, ash {ash * part:.2f} and volatile matter {volatile * part:.2f}"
        finding = entry.row.place.finding(
            "sum-over-hundred", "volatile", sample=entry.sample, terms=terms, sum=f"{total:.2f}"
        )
        yield Slip(finding, samples=(entry.sample,))


def _full(entry: Contents) -> Iterator[Slip]:
    analysis = full_analysis(entry)
    if analysis is None or entry.row is None:
        return
    low, high = (reference.constant(key).value for key in ("sum-lowest", "sum-highest"))
    total = analysis.sum_as_analysed
    if not low * (1 - EQUALITY) <= total <= high * (1 + EQUALITY):
        finding = entry.row.place.finding(
            "sum-off", "carbon", sample=entry.sample, terms=analysis.terms, sum=f"{total:.2f}"
        )
        yield Slip(finding, samples=(entry.sample,))


def _chlorine(day: Day, entry: Contents) -> Iterator[Slip]:
    limit, row = day.settings.chlorine_limit, entry.row
    if limit is None or row is None or "chlorine" not in row.contents:
        return
    found: float | None = row.contents["chlorine"]
    if row.bases.get("chlorine") is not Basis.AS_ANALYSED:
        dry, moisture = entry.on_dry("chlorine"), entry.moisture_analysis
        # Where it cannot be brought to as analysed, the figure as it stands is near enough for a warning.
        found = found if dry is None or moisture is None else dry * (100.0 - moisture) / 100.0
    if found is not None and found > limit.value * (1 + EQUALITY):
        finding = row.place.finding(
            "chlorine-high", "chlorine", sample=entry.sample, found=f"{found:.3g}", limit=f"{limit.value:g}"
        )
        yield Slip(finding, samples=(entry.sample,))


class _Hydrogen(Struct, frozen=True):
    """A sample whose hydrogen is said to be without that of the moisture, and what the moisture's would make, dry."""

    entry: Contents
    row: SampleRow
    analysis: Analysis
    water_hydrogen: float


def _holds_moisture(day: Day) -> Iterator[Slip]:
    """Look whether what does not fit grows with the moisture as it would if its hydrogen were in.

    First in the sums; where these are closed, in the values expected of the composition less those found. A line
    with its own intercept is used, so that a bias of all samples alike says nothing.
    """
    members = []
    for entry in day.contents.values():
        analysis, water = full_analysis(entry), moisture_beside(entry, "hydrogen")
        if analysis is None or not water or entry.row is None:
            continue
        if entry.row.hydrogen_includes_moisture is YesNo.NO:
            members.append(_Hydrogen(entry, entry.row, analysis, net.HYDROGEN_IN_WATER * water))
    sums = [(member.water_hydrogen, member.analysis.sum_dry - 100.0) for member in members]
    slope = _slope(sums)
    if slope is not None:
        evidence = f"the sums of the analyses grow by {slope:.2f} times the hydrogen of the moisture"
        yield _suspect(day, members, evidence)
        return
    closed = [member for member in members if abs(member.analysis.sum_dry - 100.0) <= CLOSED]
    slope = _slope([pair for member in closed for pair in _against_found(day, member)])
    if slope is not None:
        evidence = (
            f"the values expected of the composition grow over those found by {slope:.2f} times what the hydrogen "
            "of the moisture makes"
        )
        yield _suspect(day, closed, evidence)


def _slope(pairs: Sequence[tuple[float, float]]) -> float | None:
    """Return the slope where it is that of the hydrogen of the moisture and more than scatter, else None."""
    if len(pairs) < FEWEST:
        return None
    x, y = zip(*pairs, strict=True)
    if max(x) - min(x) <= EQUALITY * max(x):
        return None
    line = trend(x, y)
    better = sum((b - a) ** 2 for a, b in pairs) < sum(b**2 for b in y) / 4
    low, high = AROUND_ONE
    return line.slope if low <= line.slope <= high and line.t > TELLING and better else None


def _against_found(day: Day, member: _Hydrogen) -> Iterator[tuple[float, float]]:
    """Yield what the hydrogen of the moisture would add to the expected value, and by how much that is too high."""
    found = agreed_dry(day, member.entry)
    expected = member.analysis.expected_J_per_g()
    # The oxygen is by difference here: what is wrongly in the hydrogen is missing in it.
    less = member.analysis.expected_J_per_g(less_hydrogen=member.water_hydrogen, more_oxygen=member.water_hydrogen)
    if found and expected is not None and less is not None:
        yield (expected - less) / found, (expected - found) / found


def agreed_dry(day: Day, entry: Contents) -> float | None:
    """Return a sample's mean gross value (J/g, dry) where its firings agree within the limit, or there is only one."""
    mean = agreed_as_analysed(day, entry.sample)
    return None if mean is None else entry.value_on(Basis.DRY, mean)


def agreed_as_analysed(day: Day, sample: str) -> float | None:
    """Return a sample's mean gross value (J/g) as analysed where its firings agree, or there is only one."""
    counted = day.counted(sample)
    compared = [value for firing in counted if (value := day.compared(firing)) is not None]
    if not counted or (day.limit is not None and compared and max(compared) - min(compared) > day.limit):
        return None
    return statistics.mean([firing.gross_ad_J_per_g for firing in counted if firing.gross_ad_J_per_g is not None])


def _suspect(day: Day, members: Sequence[_Hydrogen], evidence: str) -> Slip:
    nets: list[str] = []
    wanted = next((basis for basis in (Basis.AS_RECEIVED, Basis.AS_ANALYSED) if _both(day, members[0], basis)), None)
    for member in members:
        both = None if wanted is None else _both(day, member, wanted)
        if both is not None:
            nets.append(f"{member.entry.sample} {both[0]:.0f} and {both[1]:.0f}")
    texts = f"{'; '.join(nets[:_SHOWN])}{'; ...' if len(nets) > _SHOWN else ''}" if nets else "none could be found"
    samples = tuple(member.entry.sample for member in members)
    finding = members[0].row.place.finding(
        "hydrogen-holds-moisture", "hydrogen", evidence=evidence, count=len(members), nets=texts,
        basis="as received" if wanted is Basis.AS_RECEIVED else "as analysed",
    )  # fmt: skip
    return Slip(finding, samples=samples)


def _both(day: Day, member: _Hydrogen, basis: Basis) -> tuple[float, float] | None:
    """Return the net value (J/g) with the hydrogen as given, and without that of the moisture."""
    entry = member.entry
    gross = agreed_as_analysed(day, entry.sample)
    given = member.row.bases.get("hydrogen")
    moisture = entry.moisture_total if given is Basis.AS_RECEIVED else entry.moisture_analysis
    if gross is None or moisture is None:
        return None
    less = entry.moved("hydrogen", -net.HYDROGEN_IN_WATER * moisture)
    values = [net_values(one or entry, gross, day.settings).constant_pressure[basis] for one in (entry, less)]
    return None if values[0] is None or values[1] is None else (values[0], values[1])


def _same_hydrogen(day: Day) -> Iterator[Slip]:
    """Look for one figure in samples that differ in fuel class or in ash by a whole per cent."""
    groups: dict[float, list[Contents]] = {}
    for entry in day.contents.values():
        if entry.row is not None and entry.row.contents.get("hydrogen"):
            groups.setdefault(entry.row.contents["hydrogen"], []).append(entry)
    total = sum(len(members) for members in groups.values())
    coarse = all(abs(value * 10 - round(value * 10)) < 1e-6 for value in groups)
    said, alike = [], []
    for value, members in groups.items():
        # Given to a tenth only, some figures are alike by chance: then most of the day's must be.
        if len(members) < SAME or (coarse and len(members) <= total / 2):
            continue
        rows = [entry.row for entry in members if entry.row is not None]
        classes = {row.fuel_class.casefold() for row in rows}
        ashes = [row.contents["ash"] for row in rows if "ash" in row.contents]
        if len(classes) > 1 or (ashes and max(ashes) - min(ashes) >= 1.0):
            names = [entry.sample for entry in members]
            said.append(f"{habit(names, 'sample')}, of different fuels, have {value:g} % of hydrogen")
            alike += members
    if alike and alike[0].row is not None:
        finding = alike[0].row.place.finding("hydrogen-same", "hydrogen", what="; ".join(said))
        yield Slip(finding, samples=tuple(entry.sample for entry in alike))
