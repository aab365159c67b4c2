"""Nests as PDF, set by a process of its own: a job as JSON on standard input, the file on standard output."""

from __future__ import annotations

import sys
from pathlib import Path

import typst

TEMPLATE = Path(__file__).with_name("nest.typ")

if __name__ == "__main__":
    made = typst.compile(TEMPLATE.read_bytes(), sys_inputs={"job": sys.stdin.read()})
    assert isinstance(made, bytes)
    sys.stdout.buffer.write(made)
