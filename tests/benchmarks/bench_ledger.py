"""Many writers post against the same items while they are killed at random; then the ledger must be whole.

    python -m tests.benchmarks.bench_ledger                                   60 s on a SQLite file of its own
    python -m tests.benchmarks.bench_ledger --postgres postgres://user@host:5432/postgres     and on PostgreSQL
    python -m tests.benchmarks.bench_ledger --seconds 8 --writers 4 --kills 3                      a short one

Every writer notes a key before it posts and again when the posting was acknowledged; one that was killed is started
again and sends its last key a second time. Afterwards every acknowledged posting must be there, none twice, nothing
below its floor, and the balances must be those of the replayed movements. Beside it stands what the bare database
does with the same rows, locks and durability, without any of our code.
"""

from __future__ import annotations

import argparse
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

ROOT = Path(__file__).resolve().parents[2]
ITEMS = 12
BARE_SECONDS = 8


@dataclass(frozen=True)
class Database:
    """Where the ledger lies. No address means a SQLite file in the folder."""

    folder: Path
    address: str = ""

    @property
    def name(self) -> str:
        return "PostgreSQL" if self.address else "SQLite"

    def environment(self) -> dict[str, str]:
        kept = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
        kept |= {"WORKSHOP_DATA": str(self.folder), "PYTHONPATH": str(ROOT)}
        return kept | ({"DATABASE_URL": self.address} if self.address else {})

    def python(self, *words: str) -> subprocess.Popen[str]:
        """This module in a process of its own, at this database."""
        command = [sys.executable, "-m", "tests.benchmarks.bench_ledger", *words]
        return subprocess.Popen(
            command,
            cwd=ROOT,
            env=self.environment(),
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )

    def said(self, *words: str) -> list[str]:
        """The words it printed. RuntimeError if it failed."""
        process = self.python(*words)
        out, err = process.communicate(timeout=600)
        if process.returncode:
            raise RuntimeError(err)
        return out.split("\n")


@dataclass(frozen=True)
class Outcome:
    """What a run did and what was found wrong afterwards; `faults` empty is the proof."""

    database: str
    acknowledged: int
    kills: int
    seconds: float
    faults: list[str]

    @property
    def rate(self) -> float:
        return self.acknowledged / self.seconds


@contextmanager
def database_of_its_own(folder: Path, server: str = "") -> Iterator[Database]:
    """An empty database: a file in the folder, or one made on the server and dropped afterwards."""
    if not server:
        yield Database(folder)
        return
    import psycopg

    name = f"bench_ledger_{os.getpid()}"
    parts = urlsplit(server)
    with psycopg.connect(server, autocommit=True) as admin:
        admin.execute(f"CREATE DATABASE {name}")
        try:
            yield Database(folder, urlunsplit(parts._replace(path=f"/{name}")))
        finally:
            admin.execute(f"DROP DATABASE {name} WITH (FORCE)")


def run(database: Database, *, seconds: float, writers: int, kills: int, seed: int = 1) -> Outcome:
    """Writers post for so long and are killed so often; then everything is looked at."""
    database.said("furnish")
    chance = random.Random(seed)
    running = {number: database.python("write", str(number)) for number in range(writers)}
    _wait_for_all(database.folder, writers)
    started = time.monotonic()
    moments = sorted(chance.uniform(0.05, 0.95) * seconds for _ in range(kills))
    for moment in moments:
        time.sleep(max(0.0, started + moment - time.monotonic()))
        number = chance.randrange(writers)
        running[number].send_signal(signal.SIGKILL)
        running[number].communicate()
        running[number] = database.python("write", str(number))
    time.sleep(max(0.0, started + seconds - time.monotonic()))
    lasted = time.monotonic() - started
    (database.folder / "stop").touch()
    faults = []
    for number, process in running.items():
        _, err = process.communicate(timeout=120)
        if process.returncode:
            faults.append(f"writer {number} ended with {err.strip().splitlines()[-1:]}")
    (database.folder / "stop").unlink()
    said = database.said("look")
    return Outcome(
        database.name, int(said[0]), kills, lasted, faults + [line for line in said[1:] if line.strip()]
    )


def bare_rate(database: Database, *, seconds: float, writers: int) -> float:
    """Transactions in a second that the database alone commits, with as many writers on the same balances."""
    processes = [database.python("bare", str(number), str(seconds)) for number in range(writers)]
    total = 0.0
    for process in processes:
        out, err = process.communicate(timeout=seconds + 300)
        if process.returncode:
            raise RuntimeError(err)
        total += float(out)
    return total


def _wait_for_all(folder: Path, writers: int) -> None:
    limit = time.monotonic() + 120
    while len(list(folder.glob("acknowledged-*"))) < writers:
        if time.monotonic() > limit:
            raise RuntimeError("The writers do not begin.")
        time.sleep(0.05)


# What follows runs in the processes.


def _setup() -> None:
    os.environ["DJANGO_SETTINGS_MODULE"] = "production.config.settings"
    import django

    django.setup()


def _furnish() -> None:
    from django.core.management import call_command

    from bom.items.models import Item
    from tests.inventory.stock_room import furnish

    call_command("migrate", verbosity=0)
    room = furnish()
    for number in range(ITEMS):
        item = Item.objects.create(code=f"X{number:02d}", name="thing", kind="bought")
        # Two items are scarce, so that writers are also refused.
        for place in ("A1", "A2", "CUT"):
            room.bring(item, 30 if number < 2 else 1_000_000, place)


def _write(number: int) -> None:
    """Post until told to stop. A key is noted before it is sent and after it was acknowledged."""
    from bom.items.models import Item
    from bom.kernel.errors import ProblemError
    from inventory.stock import ledger
    from inventory.stock.models import Location

    folder = Path(os.environ["WORKSHOP_DATA"])
    places = {place.code: place.pk for place in Location.objects.all()}
    items = list(Item.objects.filter(code__startswith="X").order_by("code").values_list("pk", flat=True))
    noted, done = folder / f"noted-{number}", folder / f"acknowledged-{number}"
    last = noted.read_text().splitlines()[-1:] if noted.exists() else []
    step = int(last[0].split(":")[-1]) if last else 0
    with noted.open("a") as before, done.open("a") as after:
        while not (folder / "stop").exists():
            key = f"write:{number}:{step}"
            before.write(f"{key}\n")
            before.flush()
            # The same key always means the same event, so that one sent again after a kill is the same posting.
            chance = random.Random(key)
            item, source, target = chance.choice(items), *chance.sample(["A1", "A2", "CUT", "SUPPLIER"], 2)
            quantity = chance.randint(1, 5)
            lines = [
                ledger.Line(item, places[source], -_decimal(quantity)),
                ledger.Line(item, places[target], _decimal(quantity)),
            ]
            try:
                ledger.post(key=key, kind="move", lines=lines, by=None)
            except ProblemError:
                pass  # the shelf holds too little just now: refused, and rightly
            else:
                after.write(f"{key}\n")
                after.flush()
            step += 1


def _decimal(number: int):
    from decimal import Decimal

    return Decimal(number)


def _look() -> None:
    """The number acknowledged, then a line for each thing that is wrong."""
    from inventory.stock import ledger
    from inventory.stock.models import Balance, Movement, Posting
    from inventory.stock.sums import summed

    folder = Path(os.environ["WORKSHOP_DATA"])
    acknowledged = [key for file in folder.glob("acknowledged-*") for key in file.read_text().split()]
    noted = {key for file in folder.glob("noted-*") for key in file.read_text().split()}
    there = list(Posting.objects.filter(key__startswith="write:").values_list("key", flat=True))
    print(len(set(acknowledged)))
    lost, strange = set(acknowledged) - set(there), set(there) - noted
    if lost:
        print(f"{len(lost)} acknowledged postings are lost, e.g. {sorted(lost)[0]}")
    if strange:
        print(f"{len(strange)} postings were never sent")
    if len(there) != len(set(there)):
        print("a key stands twice")
    if Movement.objects.count() != 2 * Posting.objects.count():
        print("a posting has not two movements")
    for item, total in Balance.objects.order_by().values_list("item").annotate(total=summed()):
        if total:
            print(f"item {item} adds up to {total}, not to zero")
    for problem in ledger.audit():
        print(problem)


def _bare(number: int, seconds: float) -> None:
    """Transactions in a second: a posting, two movements, two balances locked and changed, committed."""
    from django.conf import settings

    database = settings.DATABASES["default"]
    is_file = database["ENGINE"].endswith("sqlite3")
    if is_file:
        import sqlite3

        connection = sqlite3.connect(database["NAME"], isolation_level=None, timeout=30)
        for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"):
            connection.execute(f"PRAGMA {pragma}")
        sign, begin, lock = "?", "BEGIN IMMEDIATE", ""
    else:
        import psycopg

        connection = psycopg.connect(os.environ["DATABASE_URL"], autocommit=True)
        sign, begin, lock = "%s", "BEGIN", " FOR UPDATE"
    stations = connection.execute(
        "SELECT id, item_id, location_id FROM inventory_balance WHERE lot_id IS NULL ORDER BY item_id, location_id"
    ).fetchall()
    pairs = [pair for pair in pairwise(stations) if pair[0][1] == pair[1][1]]
    done, chance = 0, random.Random(number)
    started = time.monotonic()
    while time.monotonic() - started < seconds:
        one, other = chance.choice(pairs)
        connection.execute(begin)
        (posting,) = connection.execute(
            "INSERT INTO inventory_posting (key, kind, happened_at, recorded_at, reason) "
            f"VALUES ({sign}, 'move', CURRENT_TIMESTAMP, CURRENT_TIMESTAMP, '') RETURNING id",
            (f"bare:{number}:{done}",),
        ).fetchone()
        row = f"({sign}, {sign}, {sign}, {sign}, CURRENT_TIMESTAMP)"
        connection.execute(
            "INSERT INTO inventory_movement (posting_id, item_id, location_id, quantity, happened_at) "
            f"VALUES {row}, {row}",
            (posting, one[1], one[2], -1, posting, other[1], other[2], 1),
        )
        connection.execute(
            f"SELECT id, quantity FROM inventory_balance WHERE id IN ({sign}, {sign}) ORDER BY id{lock}",
            (one[0], other[0]),
        ).fetchall()
        for balance, change in ((one[0], -1), (other[0], 1)):
            connection.execute(
                f"UPDATE inventory_balance SET quantity = quantity + {sign} WHERE id = {sign}",
                (change, balance),
            )
        connection.execute("COMMIT")
        done += 1
    print(done / (time.monotonic() - started))


def _work(words: list[str]) -> None:
    _setup()
    match words:
        case ["furnish"]:
            _furnish()
        case ["write", number]:
            _write(int(number))
        case ["look"]:
            _look()
        case ["bare", number, seconds]:
            _bare(int(number), float(seconds))


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--writers", type=int, default=16)
    parser.add_argument("--kills", type=int, default=20)
    parser.add_argument("--postgres", help="Address of a server on which databases may be made.")
    options = parser.parse_args()
    faults = 0
    print(f"{options.writers} writers for {options.seconds:.0f} s, killed {options.kills} times")
    print(f"{'database':<12} {'postings':>9} {'a second':>9} {'bare':>9} {'ratio':>6}  faults")
    for server in ["", options.postgres] if options.postgres else [""]:
        with (
            tempfile.TemporaryDirectory(prefix="bench-ledger-") as folder,
            database_of_its_own(Path(folder), server) as database,
        ):
            done = run(database, seconds=options.seconds, writers=options.writers, kills=options.kills)
            bare = bare_rate(database, seconds=BARE_SECONDS, writers=options.writers)
        faults += len(done.faults)
        print(
            f"{done.database:<12} {done.acknowledged:>9} {done.rate:>9.1f} {bare:>9.1f} {done.rate / bare:>6.2f}"
            f"  {'; '.join(done.faults) or 'none'}"
        )
    return 1 if faults else 0


if __name__ == "__main__":
    if len(sys.argv) > 1 and not sys.argv[1].startswith("-"):
        _work(sys.argv[1:])
    else:
        raise SystemExit(main())
