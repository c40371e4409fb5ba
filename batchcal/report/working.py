"""The working of every firing and sample for the page, with the anchors by which the tables point to it.

The lines are those of :mod:`batchcal.report.explain`; nothing is worded twice.
"""

from collections.abc import Iterable

from msgspec import Struct

from batchcal.logged import Place
from batchcal.model import Evaluation, FiringResult
from batchcal.report.explain import Working, explain_firing, explain_sample
from batchcal.report.words import counted


class Step(Struct, frozen=True):
    """The working of one firing or sample, and the anchor at which it stands."""

    anchor: str
    working: Working


class Part(Struct, frozen=True):
    """What opens and closes together: a sample with its firings, or the firings that belong to no sample."""

    title: str
    about: str
    steps: tuple[Step, ...]


def firing_anchor(place: Place) -> str:
    """Return the anchor of the working of the firing that stands at ``place``; no two rows share one."""
    part = f"-{_plain(place.table.part)}" if place.table.part else ""
    return f"firing-{_plain(place.sheet)}-{place.row}{part}"


def sample_anchor(sample: str) -> str:
    """Return the anchor of the working of a sample; no two numbers share one."""
    return f"sample-{_plain(sample)}"


def parts(evaluation: Evaluation) -> tuple[Part, ...]:
    """Return the working of every sample and firing, each once, in the order of the evaluation."""
    placed: set[str] = set()
    found = []
    for sample in evaluation.samples:
        steps = _steps(evaluation, sample.firings)
        placed.update(step.anchor for step in steps)
        own = Step(sample_anchor(sample.sample), explain_sample(evaluation, sample))
        found.append(Part(own.working.heading, counted(len(steps), "firing"), (own, *steps)))
    others = [firing for firing in evaluation.firings if firing_anchor(firing.row.place) not in placed]
    if others:
        purposes = dict.fromkeys(firing.purpose or "purpose unknown" for firing in others)
        title = f"Firings of no sample: {', '.join(purposes)}"
        found.append(Part(title, counted(len(others), "firing"), _steps(evaluation, others)))
    return tuple(found)


def _steps(evaluation: Evaluation, firings: Iterable[FiringResult]) -> tuple[Step, ...]:
    return tuple(Step(firing_anchor(firing.row.place), explain_firing(evaluation, firing)) for firing in firings)


def _plain(text: str) -> str:
    """Return ``text`` with all but letters, digits and hyphens spelt as numbers, so that no two texts become one."""
    return "".join(
        character if character == "-" or (character.isascii() and character.isalnum()) else f"_{ord(character):x}_"
        for character in text
    )
