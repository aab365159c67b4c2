"""Two people never take the same box: on a file of SQLite and on PostgreSQL, with the proof that they could."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.db import connection

from tests.concurrency import same_box

ROOT = Path(__file__).resolve().parents[2]
ONE = [same_box.REFUSED] * (same_box.PEOPLE - 1) + [same_box.TAKEN]

# What must come out of each scene, whoever was first.
OUTCOMES: dict[str, dict[str, object]] = {
    "keeping": {"ends": ONE, "kept": 1},
    "giving": {"ends": ONE, "kept": 1},
    "sharing": {"kept": 1},
    "issuing_by_hand": {"ends": ONE, "left": 0, "audit": 0},
    "holding_and_issuing": {"ends": [same_box.REFUSED, same_box.TAKEN], "left": 0},
    "filling_bins": {"ends": ONE, "left": 200},
    "telling_of_an_empty_bin": {"signals": 1},
    "picking_two_kits": {"ends": [same_box.REFUSED, same_box.TAKEN], "in kits": 2, "audit": 0},
    "picking_one_kit": {"in kits": 2, "audit": 0},
    "giving_plates": {"numbers": [1, 2, 3, 4]},
    "giving_one_plate": {"numbers": [1]},
    "taking_one_kit": {"ends": ONE, "begun": "begun"},
    "filling_one_bay": {"ends": ONE, "in the bay": 1},
    "scanning_one_card": {"times": 1, "card": "begun"},
    "scanning_two_cards": {"ends": [same_box.TAKEN] * same_box.PEOPLE, "running": 1, "kept": same_box.PEOPLE},
    "sending_one_load": {"away": 1, "back": 1, "audit": 0},
}


@pytest.fixture(scope="module")
def ends_on_sqlite(tmp_path_factory) -> dict[str, dict[str, object]]:
    """What every scene came to, each on an SQLite file of its own, all in one process."""
    environment = {
        **os.environ,
        "WORKSHOP_DATA": str(tmp_path_factory.mktemp("scenes")),
        "PYTHONPATH": str(ROOT),
        "DJANGO_SETTINGS_MODULE": "production.config.settings",
    }
    environment.pop("DATABASE_URL", None)
    done = subprocess.run(
        [sys.executable, "-m", "tests.concurrency.same_box", "control", *OUTCOMES],
        env=environment,
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert done.returncode == 0, done.stderr
    found: dict[str, dict[str, object]] = json.loads(done.stdout)
    return found


def test_control_without_a_lock_both_take_the_last_box_on_sqlite(ends_on_sqlite):
    assert ends_on_sqlite["control"] == {"ends": ["taken", "taken"], "left": 0}


@pytest.mark.parametrize("scene", OUTCOMES)
def test_one_of_them_gets_it_on_sqlite(scene, ends_on_sqlite):
    assert ends_on_sqlite[scene] == OUTCOMES[scene]


on_postgres = pytest.mark.skipif(
    connection.vendor != "postgresql", reason="DATABASE_URL names no PostgreSQL server to lock rows in"
)


@on_postgres
@pytest.mark.postgres
@pytest.mark.django_db(transaction=True)
def test_control_without_a_lock_both_take_the_last_box_on_postgres():
    assert same_box.control() == {"ends": ["taken", "taken"], "left": 0}


@on_postgres
@pytest.mark.postgres
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("scene", OUTCOMES)
def test_one_of_them_gets_it_on_postgres(scene):
    assert same_box.SCENES[scene]() == OUTCOMES[scene]
