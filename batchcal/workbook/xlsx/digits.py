"""Numbers as they stand in a part, with all their digits."""

from collections.abc import Sequence

import msgspec

NO_NUMBER = "null"
"""What stands for None and for what is not finite."""

_encode = msgspec.json.Encoder().encode
_OTHERWISE = ("e", "0.0000")
"""What shows that a number is so large or small that the encoder may write it otherwise than Python does."""


def digits(values: Sequence[float | None]) -> list[str]:
    """Return numbers as ``repr`` writes them, in a quarter of its time; :data:`NO_NUMBER` where there is none."""
    if not values:
        return []
    written = _encode(values)[1:-1].decode()
    texts = written.split(",")
    if not any(sign in written for sign in _OTHERWISE):
        return texts
    pairs = zip(texts, values, strict=True)
    return [repr(value) if any(sign in text for sign in _OTHERWISE) else text for text, value in pairs]
