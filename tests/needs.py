"""What a test needs from the machine: found, or skipped with a sentence; where all must be there, a failure."""

import os
import shutil

import pytest

ALL_MUST_BE_THERE = os.environ.get("WORKSHOP_TEST_ALL") == "yes"


def lacking(sentence: str) -> None:
    """Skip the test and say what it lacks; fail where the environment says that nothing may be lacking."""
    if ALL_MUST_BE_THERE:
        pytest.fail(f"{sentence} (WORKSHOP_TEST_ALL is yes, so this may not be skipped.)")
    pytest.skip(sentence)


def chromium() -> str:
    path = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if path is None:
        lacking("No Chromium on this machine; install Debian's package chromium to run the browser tests.")
    return str(path)


def postgres() -> str:
    address = os.environ.get("WORKSHOP_TEST_POSTGRES", "")
    if not address:
        lacking(
            "WORKSHOP_TEST_POSTGRES is not set to a server's address, e.g. postgres://user@host:5432/postgres."
        )
    return address


def redis() -> str:
    address = os.environ.get("WORKSHOP_TEST_REDIS", "")
    if not address:
        lacking("WORKSHOP_TEST_REDIS is not set to a server's address, e.g. redis://host:6379/0.")
    return address
