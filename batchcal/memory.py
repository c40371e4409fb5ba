"""What a process of our own spares: looking for objects that only hold one another, and loading numpy."""

import gc
import sys

_NEW_OBJECTS, _YOUNG_LOOKS, _MIDDLE_LOOKS = 100_000, 20, 100


def look_rarely() -> None:
    """Look for them so rarely that it costs a command next to nothing; for a process that is ours alone.

    What is read and worked out stays until the outputs are written and hardly ever holds itself, so that looking
    finds little: on 10 000 firings it took a sixth of the work, and without it the memory was the same.
    """
    gc.set_threshold(_NEW_OBJECTS, _YOUNG_LOOKS, _MIDDLE_LOOKS)


def leave_out_numpy() -> None:
    """Have imports of numpy fail as they do where it is not installed; for a process that is ours alone.

    openpyxl, which some commands write with, loads it where it can, to know its numbers in cells; ours hold none.
    That is more than half of its start, and 12 MB.
    """
    sys.modules.setdefault("numpy", None)  # type: ignore[arg-type]  # documented: the import then fails


def tidy() -> None:
    """Look for them now; what is left is taken for the program's own and not looked at again.

    For the start of a piece of work in a process that does many: looking rarely, it would keep a part of each for ever.
    """
    gc.collect()
    gc.freeze()
