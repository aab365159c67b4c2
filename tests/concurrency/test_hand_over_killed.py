"""A server killed in the middle of a hand-over: the trailer has wholly gone or not at all; what was told is true."""

import random
import subprocess
import sys
import time

import pytest

from tests import needs
from tests.benchmarks.bench_ledger import ROOT, Database, database_of_its_own
from tests.concurrency.hand_over import TRAILERS

KILLS = 4
LONGEST_S = 0.25


def _process(database: Database, what: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "tests.concurrency.hand_over", what],
        cwd=ROOT,
        env=database.environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def _said(database: Database, what: str) -> list[str]:
    process = _process(database, what)
    out, err = process.communicate(timeout=900)
    assert process.returncode == 0, err
    return out.splitlines()


def _killed_in_the_middle(database: Database, chance: random.Random) -> list[str]:
    """Kill the process a moment after it began a trailer; what it had said by then."""
    process = _process(database, "leave")
    assert process.stdout is not None
    heard = [process.stdout.readline().strip()]
    time.sleep(chance.uniform(0, LONGEST_S))
    process.kill()
    out, _ = process.communicate()
    return [*heard, *out.splitlines()]


def _kill_and_look(database: Database) -> None:
    _said(database, "furnish")
    chance, told = random.Random(7), []
    for _ in range(KILLS):
        told += _killed_in_the_middle(database, chance)
        seen = _said(database, "look")
        assert [one for one in seen if one.startswith("fault")] == []
        acknowledged = {one for one in told if one.isdecimal()}
        assert acknowledged <= {one.removeprefix("gone ") for one in seen}
    _said(database, "leave")
    seen = _said(database, "look")
    assert [one for one in seen if one.startswith("fault")] == []
    assert len([one for one in seen if one.startswith("gone ")]) == TRAILERS


def test_a_killed_hand_over_is_whole_on_sqlite(tmp_path):
    with database_of_its_own(tmp_path) as database:
        _kill_and_look(database)


@pytest.mark.postgres
def test_a_killed_hand_over_is_whole_on_postgresql(tmp_path):
    with database_of_its_own(tmp_path, needs.postgres()) as database:
        _kill_and_look(database)
