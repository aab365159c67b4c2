"""Asks the reading process what a file holds, within bounds of time, and puts its end into words. No Django."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from time import monotonic
from typing import Any

from bom.kernel.errors import Problem, ProblemError

SECONDS_ALLOWED = 40
SECONDS_BETWEEN_LOOKS = 0.3
ROOT = Path(__file__).resolve().parents[3]


def ask(
    path: str, *, unit: str, rules: dict[str, str], between: Callable[[], None] = lambda: None
) -> dict[str, Any]:
    """What the file holds, as `bom.geometry.dxf.child` answers it. `between` is called a few
    times a second; what it raises ends the process.

    Raises:
        ProblemError: the process took too long or too much memory, or died.
    """
    request = json.dumps({"path": path, "unit": unit, "rules": rules}).encode()
    # One thread of its own: numpy would else reserve memory for as many as the machine has.
    environment = os.environ | {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    with subprocess.Popen(
        [sys.executable, "-m", "bom.geometry.dxf.child"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=ROOT,
        env=environment,
    ) as process:
        try:
            out, told = _wait(process, request, between)
        except BaseException:
            process.kill()
            raise
    if process.returncode:
        raise ended_badly(process.returncode, told.decode(errors="replace"))
    answer: dict[str, Any] = json.loads(out)
    return answer


def _wait(
    process: subprocess.Popen[bytes], request: bytes, between: Callable[[], None]
) -> tuple[bytes, bytes]:
    end, given = monotonic() + SECONDS_ALLOWED, request
    while True:
        try:
            return process.communicate(given, timeout=SECONDS_BETWEEN_LOOKS)
        except subprocess.TimeoutExpired:
            # What was given once is kept by `communicate`; it must not be given again.
            given = None  # type: ignore[assignment]
            if monotonic() > end:
                raise _too_much(f"Reading took longer than {SECONDS_ALLOWED} seconds") from None
            between()


def ended_badly(code: int, told: str) -> ProblemError:
    """Why the reading process ended with this code (below 0: the signal) and these last words."""
    if "MemoryError" in told or code == -signal.SIGKILL:
        return _too_much("Reading took more memory than it may have")
    if code == -signal.SIGXCPU:
        return _too_much("Reading took more computing time than it may have")
    last = told.strip().splitlines()[-1] if told.strip() else f"it ended with {code}"
    return ProblemError(
        Problem(f"The file could not be read to its end ({last[:160]})", mend="Save it anew and try again")
    )


def _too_much(what: str) -> ProblemError:
    return ProblemError(Problem(what, mend="Save the part alone, without frame, texts and other parts"))
