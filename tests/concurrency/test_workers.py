"""The plan is made by a worker of its own: the embedded one on files, and one on Redis."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests import needs

ROOT = Path(__file__).resolve().parents[2]
LIMIT_SECONDS = 300


def _environment(folder: Path, broker: str = "") -> dict[str, str]:
    left_out = {"DATABASE_URL", "BROKER_URL", "DJANGO_SETTINGS_MODULE"}
    kept = {name: value for name, value in os.environ.items() if name not in left_out}
    return {**kept, "WORKSHOP_DATA": str(folder), **({"BROKER_URL": broker} if broker else {})}


def _demo(environment: dict[str, str]) -> subprocess.CompletedProcess[str]:
    command = [
        sys.executable,
        "manage.py",
        "demo",
        "--check",
        "--orders",
        "6",
        "--history-weeks",
        "3",
        "--seconds",
        "2",
    ]
    return subprocess.run(
        command, cwd=ROOT, env=environment, capture_output=True, text=True, timeout=LIMIT_SECONDS
    )


def test_the_embedded_worker_makes_the_first_plan_and_a_second_start_keeps_it(tmp_path):
    first = _demo(_environment(tmp_path))
    second = _demo(_environment(tmp_path))

    assert first.returncode == 0, first.stderr
    assert "cut batches" in first.stdout
    assert "plan 1: done" in first.stderr
    assert second.returncode == 0, second.stderr
    assert second.stdout == first.stdout
    assert "plan 1" not in second.stderr


@pytest.mark.redis
def test_a_worker_on_redis_makes_the_first_plan(tmp_path):
    environment = _environment(tmp_path, needs.redis())
    log = (tmp_path / "worker.log").open("w")
    command = [sys.executable, "-m", "celery", "-A", "production.config.celery", "worker", "--pool", "solo"]
    worker = subprocess.Popen(command, cwd=ROOT, env=environment, stdout=log, stderr=log)
    try:
        done = _demo(environment)
    finally:
        worker.terminate()
        worker.wait(timeout=60)
        log.close()

    assert done.returncode == 0, done.stderr + (tmp_path / "worker.log").read_text()
    assert "plan 1: done" in done.stderr
