"""A planned firing in words: one line to take to the bench."""

from batchcal.advice import PlannedFiring
from batchcal.model import SampleResult
from batchcal.report.words import fixed
from batchcal.terms import BASIS_NAMES, FurtherTestRule


def plan_in_words(planned: PlannedFiring, sample: SampleResult) -> str:
    """Return what to fire, what to weigh, what to expect, and which value of it settles the sample."""
    which = f"{planned.replicate} of {planned.sample}" if planned.replicate else f"another portion of {planned.sample}"
    first = "After the records, fire" if planned.probably_a_slip else "Fire"
    return " ".join(part for part in (f"{first} {which}: {_charge(planned)}", _accepted(planned, sample)) if part)


def _charge(planned: PlannedFiring) -> str:
    if planned.mass_g is None or planned.mass_range_g is None:
        return f"{planned.why_no_mass}."
    low, high = planned.mass_range_g
    parts = [f"{fixed(planned.mass_g, 2)} g ({fixed(low, 2)} to {fixed(high, 2)})"]
    parts += [f"{fixed(mass, 2)} g of {aid} as before" for aid, mass in planned.aids]
    parts += [
        planned.apparatus,
        f"expected rise {fixed(planned.rise_K, 2)} K",
        f"{fixed((planned.energy_J or 0.0) / 1e3, 1)} kJ (limit {fixed((planned.energy_limit_J or 0.0) / 1e3, 1)})",
    ]
    return ", ".join(parts) + (f"; {planned.remark}." if planned.remark else ".")


def _accepted(planned: PlannedFiring, sample: SampleResult) -> str:
    """Return the values that settle it, the chance of that, and what follows otherwise; fixed before it is fired."""
    if planned.allowed_range_J_per_g is None:
        return ""
    if planned.hopeless:
        return (
            "Those fired so far are further apart than the rule allows to any number of firings: unless a technical "
            "cause is found for one of them, more firings only show a person where the middle lies."
        )
    basis = f", {BASIS_NAMES[sample.comparison_basis]}" if sample.comparison_basis else ""
    limit = f"within {fixed(planned.allowed_range_J_per_g, 0)} J/g of each other"
    if planned.accepted_J_per_g is None:
        text = f"No value of it brings the {planned.count} {limit}."
    else:
        low, high = planned.accepted_J_per_g
        text = f"The {planned.count} lie {limit} if it gives {fixed(low, 0)} to {fixed(high, 0)} J/g{basis}"
        chance = planned.chance
        text += "." if chance is None else f"; chance {chance:.0%} if only scatter parts them.".replace("%", " %")
    if planned.rule is not FurtherTestRule.RANGE and planned.count == planned.most:
        return f"{text} It is the last: then the rule {planned.rule} decides."
    if planned.count < planned.most:
        following = "a fourth" if planned.count == 3 else "a third"
        return f"{text} Otherwise {following}; with {planned.most} firings it ends."
    return f"{text} It is the last: otherwise the sample is held."
