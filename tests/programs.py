"""Other programs that a few tests need; such a test is skipped on a plain machine and must run under CI."""

import os
import shutil

import pytest


def program(*names: str) -> str:
    """Return the path of the first of these programs; skip the test where there is none, fail it under CI."""
    for name in names:
        found = shutil.which(name)
        if found:
            return found
    message = f"needs {' or '.join(names)}, which is not installed here"
    if os.environ.get("CI"):
        pytest.fail(message)
    pytest.skip(message)
