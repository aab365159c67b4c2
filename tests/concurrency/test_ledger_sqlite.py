"""Several processes write to one SQLite file under the workshop's own settings, as the site and its worker do."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

WRITERS = 4
POSTINGS_EACH = 10
ROOT = Path(__file__).resolve().parents[2]

BEGIN = """
import os
os.environ["DJANGO_SETTINGS_MODULE"] = "production.config.settings"
import django
django.setup()
import sys
from decimal import Decimal
from bom.items.models import Item
from bom.kernel.errors import ProblemError
from bom.people.models import User
from inventory.stock import ledger, reserving
from inventory.stock.models import Location
from inventory.stock.models import Purpose
from tests.inventory.stock_room import StockRoom, furnish

def room():
    return StockRoom(
        places={place.code: place for place in Location.objects.all()},
        roller=Item.objects.get(code="RLR-120-BLU"),
        axle=Item.objects.get(code="AXL-750"),
        keeper=User.objects.get(username="keeper"),
    )
"""

FURNISH = """
from django.core.management import call_command
call_command("migrate", verbosity=0)
room = furnish()
room.bring(room.roller, 1)
"""

# Every writer tries to keep and to take the last roller, then brings and moves axles through the same two rows.
WRITE = """
room = room()
number = sys.argv[1]
print("ready", flush=True)
sys.stdin.readline()
for what, work in {
    "kept": lambda: reserving.reserve(
        item=room.roller, purpose=room.purpose(number), quantity=Decimal(1), by=room.keeper),
    "taken": lambda: room.move(room.roller, 1, "A1", "KIT", key="take:" + number),
}.items():
    try:
        work()
        print(what)
    except ProblemError:
        print("refused")
for step in range(POSTINGS):
    room.move(room.axle, 1, "SUPPLIER", "A2", key=f"bring:{step}")
    room.move(room.axle, 1, "SUPPLIER", "A2", key=f"bring:{number}:{step}")
"""

LOOK = """
room = room()
print(room.at(room.roller, "A1"), room.at(room.roller, "KIT"), room.at(room.axle, "A2"), len(ledger.audit()))
"""


def _python(code: str, data: Path, *words: str) -> subprocess.Popen[str]:
    environment = {**os.environ, "WORKSHOP_DATA": str(data), "PYTHONPATH": str(ROOT)}
    environment.pop("DATABASE_URL", None)
    return subprocess.Popen(
        [sys.executable, "-c", BEGIN + code, *words],
        env=environment,
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def _said(process: subprocess.Popen[str]) -> list[str]:
    out, err = process.communicate(timeout=120)
    assert process.returncode == 0, err
    return out.split()


def _begin_together(writers: list[subprocess.Popen[str]]) -> None:
    """Wait until all are ready, then let all go."""
    for writer in writers:
        assert writer.stdout.readline() == "ready\n", writer.communicate()[1]
    for writer in writers:
        writer.stdin.write("go\n")
        writer.stdin.flush()


@pytest.fixture
def data(tmp_path: Path) -> Path:
    _said(_python(FURNISH, tmp_path))
    return tmp_path


def test_processes_share_one_file_without_losing_or_refusing_a_write(data):
    code = WRITE.replace("POSTINGS", str(POSTINGS_EACH))
    writers = [_python(code, data, str(number)) for number in range(WRITERS)]
    _begin_together(writers)
    said = [word for writer in writers for word in _said(writer)]

    assert said.count("kept") == 1
    assert said.count("taken") == 1
    assert said.count("refused") == 2 * (WRITERS - 1)
    # Every writer brought its own, and all together brought the shared ones once.
    axles = WRITERS * POSTINGS_EACH + POSTINGS_EACH
    assert [float(word) for word in _said(_python(LOOK, data))] == [0, 1, axles, 0]
