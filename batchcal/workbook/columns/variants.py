"""Which fields a heading may mean by its words, in which languages, and whether the words alone settle it."""

from collections.abc import Mapping
from functools import cache

from msgspec import Struct

from batchcal.reference import headings as known
from batchcal.workbook.columns.fields import FIELDS
from batchcal.workbook.columns.grammar import Heading, parse


class Words(Struct, frozen=True):
    """What the words of a heading say: the fields that they may mean, each with the languages in which they do.

    ``ambiguous``: laboratories mean different things by them, so that they are asked whatever else speaks for one.
    """

    fields: Mapping[str, frozenset[str]]
    ambiguous: bool = False
    whole: str = ""
    """The words that are on record, where they are not the whole name: without basis, test portion or "mass of"."""

    def read_by_us(self, field: str) -> bool:
        """Whether one of the languages in which the words mean a field was read by us."""
        return any(known.languages()[language].read_by_us for language in self.fields.get(field, ()))


NOTHING = Words({})

OF_READINGS = ("reading_time", "reading_temperature")
"""Names that are given to the columns of readings where they are found by their figures."""

_FORMULAS = frozenset({"naoh", "na2co3", "koh"})
"""Titrants that stand in headings beside what is meant of them: "concentration NaOH"."""


@cache
def look_up(heading: Heading, language: str = "") -> Words:
    """Return what the words of a heading say; those of ``language`` alone, where the person has confirmed it.

    A heading that is one of a person's known doubles keeps all its meanings in every language.
    """
    if heading.name in OF_READINGS:
        return Words({heading.name: frozenset({"en"})})
    for name, mass in _forms(heading):
        fields = _index().get(name)
        double = known.ambiguous().get(name)
        if fields is None and double is None:
            continue
        found = {field: frozenset(languages) for field, languages in (fields or {}).items()}
        if mass:
            found = {field: languages for field, languages in found.items() if _is_mass(field)} or found
            double = None if len(found) == 1 else double
        if language:
            found = {field: languages for field, languages in found.items() if language in languages} or found
        for field in double or ():
            found.setdefault(field, frozenset())
        doubtful = len(found) > 1 or double is not None
        return Words(found, doubtful, "" if name == heading.name and not mass else name)
    return NOTHING


def languages_of(words: Words) -> frozenset[str]:
    """Return the languages in which the words are on record."""
    return frozenset(language for languages in words.fields.values() for language in languages)


def _forms(heading: Heading) -> list[tuple[str, bool]]:
    """Return the forms of a name under which it may be on record, the whole first; True where its mass is meant."""
    forms = [(heading.name, False)]
    bare = heading.without_part if heading.part else heading.name
    if bare and bare != heading.name:
        forms.append((bare, False))
    for name in (heading.name, bare):
        for words in known.basis_words().values():
            for word in words:
                if name.endswith(f" {word}"):
                    forms.append((name.removesuffix(f" {word}").strip(), False))
    bases = [word for word in heading.name.split() if word not in _FORMULAS]
    if len(bases) < len(heading.name.split()):
        forms.append((" ".join(bases), False))
    for name, _ in list(forms):
        for word in known.words("mass"):
            gap = "" if word.endswith("'") else " "
            if name.startswith(f"{word}{gap}") or name.endswith(f" {word}"):
                forms.append((name.removeprefix(f"{word}{gap}").removesuffix(f" {word}").strip(), True))
    return [(name, mass) for name, mass in dict.fromkeys(forms) if name]


def _is_mass(field: str) -> bool:
    return field in ("sample_mass", "crucible_mass", "crucible_plus_sample", "aid_mass", "capsule_mass", "thread_mass")


@cache
def _index() -> Mapping[str, Mapping[str, frozenset[str]]]:
    index: dict[str, dict[str, set[str]]] = {}
    for variant in known.variants():
        name = parse(variant.text).name
        index.setdefault(name, {}).setdefault(variant.field, set()).add(variant.language)
        for other in variant.ambiguous_with:
            if other in FIELDS:
                index[name].setdefault(other, set())
    return {name: {f: frozenset(langs) for f, langs in fields.items()} for name, fields in index.items()}
