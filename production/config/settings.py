"""Settings of the workshop planner, read from the environment.

Nothing set gives a local workshop: SQLite under `.data/`, an embedded worker on a queue of files,
reachable from this machine only. WORKSHOP_DEPLOYED=yes asks for a secret, host names and https.
"""

import secrets
from pathlib import Path

from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from production.config import environment as env

BASE_DIR = Path(__file__).resolve().parent.parent.parent
DATA_DIR = Path(env.text("WORKSHOP_DATA", str(BASE_DIR / ".data")))
DATA_DIR.mkdir(parents=True, exist_ok=True)

DEPLOYED = env.yes_or_no("WORKSHOP_DEPLOYED", False)
DEBUG = env.yes_or_no("WORKSHOP_DEBUG", False)


def _local_secret() -> str:
    """A secret made once for this machine, so that sign-ins outlive a restart."""
    path = DATA_DIR / "secret"
    if not path.exists():
        path.write_text(secrets.token_urlsafe(50), encoding="utf-8")
        path.chmod(0o600)
    return path.read_text(encoding="utf-8")


SECRET_KEY = env.text("WORKSHOP_SECRET")
if not SECRET_KEY:
    if DEPLOYED:
        raise ImproperlyConfigured(
            "WORKSHOP_DEPLOYED is yes, so WORKSHOP_SECRET must hold a long random text."
        )
    SECRET_KEY = _local_secret()

ALLOWED_HOSTS = env.words("WORKSHOP_HOSTS", ["localhost", "127.0.0.1", "[::1]"])
CSRF_TRUSTED_ORIGINS = env.words("WORKSHOP_ORIGINS", [])

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "django_tables2",
    "django_filters",
    "django_htmx",
    "csp",
    "bom",
    "inventory",
    "production",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "csp.middleware.CSPMiddleware",
    "production.site.middleware.ProblemMiddleware",
]

ROOT_URLCONF = "production.config.urls"
WSGI_APPLICATION = "production.config.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "production.site.navigation.context",
            ],
        },
    },
]

DATABASES = {"default": env.database("DATABASE_URL", str(DATA_DIR / "workshop.sqlite3"))}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "bom.User"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
LOGIN_URL = "site:sign_in"
LOGIN_REDIRECT_URL = "site:start"
LOGOUT_REDIRECT_URL = "site:sign_in"

LANGUAGE_CODE = "en-gb"
USE_I18N = False
USE_TZ = True
TIME_ZONE = env.text("WORKSHOP_TIME_ZONE", "Europe/London")
CURRENCY = env.text("WORKSHOP_CURRENCY", "£")
FORMAT_MODULE_PATH = ["production.config.formats"]

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STATIC_ROOT.mkdir(parents=True, exist_ok=True)
STATICFILES_DIRS = [BASE_DIR / "production" / "site" / "static"]
MEDIA_ROOT = DATA_DIR / "media"
# Hashed names need `collectstatic`; a local workshop serves the files as they lie.
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"
        if DEPLOYED
        else "django.contrib.staticfiles.storage.StaticFilesStorage"
    },
}
WHITENOISE_USE_FINDERS = not DEPLOYED

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        # Bars and tree depths are drawn by a style attribute that holds a number.
        "style-src": [SELF, "'unsafe-inline'"],
        "img-src": [SELF, "data:"],
        "object-src": [NONE],
        "frame-ancestors": [NONE],
        "form-action": [SELF],
        "base-uri": [SELF],
    }
}

DJANGO_TABLES2_TEMPLATE = "kernel/table.html"

# Stores count working days by the shop's calendar, which stands a floor above them.
WORKING_DATES = "production.shop.calendars.working_dates"

# Background work: a broker address makes the workers separate; none means the embedded one.
BROKER_URL = env.text("BROKER_URL")
CELERY_BROKER_URL = BROKER_URL or "filesystem://"
QUEUE_DIR = DATA_DIR / "queue"
if not BROKER_URL:
    QUEUE_DIR.mkdir(parents=True, exist_ok=True)
    CELERY_BROKER_TRANSPORT_OPTIONS = {
        "data_folder_in": str(QUEUE_DIR),
        "data_folder_out": str(QUEUE_DIR),
        "control_folder": str(QUEUE_DIR / "control"),
        "polling_interval": 0.1,
    }
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_WORKER_HIJACK_ROOT_LOGGER = False

# Mail lies in a folder until a server is named: nothing leaves a workshop that was only tried out.
MAIL_HOST = env.text("WORKSHOP_MAIL_HOST")
EMAIL_BACKEND = f"django.core.mail.backends.{'smtp' if MAIL_HOST else 'filebased'}.EmailBackend"
EMAIL_FILE_PATH = DATA_DIR / "mail"
EMAIL_HOST = MAIL_HOST or "localhost"
EMAIL_PORT = env.whole_number("WORKSHOP_MAIL_PORT", 25)
EMAIL_HOST_USER = env.text("WORKSHOP_MAIL_USER")
EMAIL_HOST_PASSWORD = env.text("WORKSHOP_MAIL_PASSWORD")
EMAIL_USE_TLS = env.yes_or_no("WORKSHOP_MAIL_TLS", False)
EMAIL_TIMEOUT = 20
# How a link in a letter begins.
SITE_ADDRESS = env.text("WORKSHOP_ADDRESS", "http://127.0.0.1:8000").rstrip("/")
DEFAULT_FROM_EMAIL = env.text("WORKSHOP_MAIL_FROM", "workshop@localhost")

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name} {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": env.text("WORKSHOP_LOG_LEVEL", "WARNING")},
    # The queue of files has no host, which its library would tell at every start.
    "loggers": {"kombu.connection": {"level": "ERROR"}},
}

SESSION_COOKIE_HTTPONLY = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
if DEPLOYED:
    SECURE_SSL_REDIRECT = env.yes_or_no("WORKSHOP_SSL_REDIRECT", True)
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SECURE_HSTS_SECONDS = env.whole_number("WORKSHOP_HSTS_SECONDS", 31_536_000)
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    SECURE_HSTS_PRELOAD = True
    SESSION_COOKIE_SECURE = True
    CSRF_COOKIE_SECURE = True
