"""Writers killed in the middle of posting lose nothing that was acknowledged and leave nothing half done.

The long run with more writers is `python -m tests.benchmarks.bench_ledger`.
"""

import pytest

from tests import needs
from tests.benchmarks.bench_ledger import database_of_its_own, run

SHORT = {"seconds": 4, "writers": 3, "kills": 4}


def test_killed_writers_leave_a_whole_ledger_on_sqlite(tmp_path):
    with database_of_its_own(tmp_path) as database:
        done = run(database, **SHORT)

    assert done.faults == []
    assert done.acknowledged > 0


@pytest.mark.postgres
def test_killed_writers_leave_a_whole_ledger_on_postgresql(tmp_path):
    with database_of_its_own(tmp_path, needs.postgres()) as database:
        done = run(database, **SHORT)

    assert done.faults == []
    assert done.acknowledged > 0
