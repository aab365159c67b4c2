"""Settings for tests: a folder of its own, fast password hashes, tasks in the caller's process."""

import os
import tempfile

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
