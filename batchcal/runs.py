"""Numbers that follow one another, gathered for a sentence."""

from collections.abc import Iterable


def runs(numbers: Iterable[int]) -> list[list[int]]:
    """Return numbers in runs, in each of which every one is the one before and one more."""
    found: list[list[int]] = []
    for number in numbers:
        if found and number == found[-1][-1] + 1:
            found[-1].append(number)
        else:
            found.append([number])
    return found
