"""What every outside check starts from: the command line bench under test, and a place to write.

The checks are independent of the Rust code: they run the built `solewright` as a workshop would and judge what it
writes with other libraries, published tables and exact formulas. Run them with `cargo xtask test --only outside`.
"""

import json
import os
import subprocess
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

# One call works on one or two feet; longer than this means that it hangs.
CALL_TIMEOUT_S = 300


@dataclass(frozen=True)
class Answer:
    """What one call of the command line gave."""

    exit: int
    text: str
    errors: str

    @property
    def json(self):
        """The one JSON object on standard output."""
        return json.loads(self.text)


@pytest.fixture(scope="session")
def solewright():
    """Calls the command line with the given words: `solewright("measure", path, "--json")` gives an `Answer`.

    The call must end with one of the documented exit codes: 0 done, 2 bad input, 3 done with a finding that says stop.
    With `ok=True` (the default) 2 is a failure too.
    """
    binary = os.environ.get("SOLEWRIGHT_BIN", str(ROOT / "target" / "release" / "solewright"))

    def call(*words, ok=True):
        command = [binary, *map(str, words)]
        done = subprocess.run(command, capture_output=True, text=True, timeout=CALL_TIMEOUT_S, stdin=subprocess.DEVNULL)
        shown = f"{' '.join(command)}\nexit {done.returncode}\n{done.stdout[-2000:]}\n{done.stderr[-2000:]}"
        assert done.returncode in ((0, 3) if ok else (0, 2, 3)), shown
        return Answer(done.returncode, done.stdout, done.stderr)

    return call


@pytest.fixture(scope="session")
def workshop(tmp_path_factory):
    """A folder for what the checks of one session write."""
    return tmp_path_factory.mktemp("workshop")


@pytest.fixture(scope="session")
def sample_scans():
    """The folder of demo scans."""
    return ROOT / "sample-scans"
