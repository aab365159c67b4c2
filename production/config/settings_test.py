"""Settings for tests: a folder of its own, fast password hashes, tasks in the caller's process."""

import os
import tempfile
from pathlib import Path
from typing import Any

os.environ.setdefault("WORKSHOP_DATA", tempfile.mkdtemp(prefix="workshop-test-"))

from production.config.settings import *  # noqa: F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
CELERY_TASK_ALWAYS_EAGER = os.environ.get("WORKSHOP_TEST_WORKER") != "real"
CELERY_TASK_EAGER_PROPAGATES = True
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":  # noqa: F405
    # A file, as in use: beside a table in shared memory, a reader is refused where a file lets it read on.
    folder = Path(os.environ["WORKSHOP_DATA"])
    DATABASES["default"]["TEST"] = {"NAME": str(folder / f"test-{os.getpid()}.sqlite3")}  # noqa: F405
    options: Any = DATABASES["default"]["OPTIONS"]  # noqa: F405
    options["init_command"] = options["init_command"].replace("synchronous=FULL", "synchronous=OFF")
