"""Two people never take the same box: on a file of SQLite and on PostgreSQL, with the proof that they could."""

import json
import os
import shutil
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
def empty_file(tmp_path_factory) -> Path:
    """An SQLite file with every table and no rows, copied for each scene."""
    data = tmp_path_factory.mktemp("empty")
    _python(data, "-m", "django", "migrate", "--verbosity", "0")
    return data / "workshop.sqlite3"


def _python(data: Path, *words: str) -> str:
    environment = {
        **os.environ,
        "WORKSHOP_DATA": str(data),
        "PYTHONPATH": str(ROOT),
        "DJANGO_SETTINGS_MODULE": "production.config.settings",
    }
    environment.pop("DATABASE_URL", None)
    done = subprocess.run(
        [sys.executable, *words], env=environment, cwd=ROOT, capture_output=True, text=True, timeout=180
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def _on_sqlite(scene: str, empty_file: Path, data: Path) -> dict[str, object]:
    shutil.copy(empty_file, data / empty_file.name)
    found: dict[str, object] = json.loads(_python(data, "-m", "tests.concurrency.same_box", scene))
    return found


def test_control_without_a_lock_both_take_the_last_box_on_sqlite(empty_file, tmp_path):
    assert _on_sqlite("control", empty_file, tmp_path) == {"ends": ["taken", "taken"], "left": 0}


@pytest.mark.parametrize("scene", OUTCOMES)
def test_one_of_them_gets_it_on_sqlite(scene, empty_file, tmp_path):
    assert _on_sqlite(scene, empty_file, tmp_path) == OUTCOMES[scene]


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
