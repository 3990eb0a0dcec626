"""The one settings module: environment decides, nothing is only for production.

Every variable is described in docs/settings.md; a test compares the two.
"""

import os
from pathlib import Path
from typing import Any, Literal

import dj_database_url
from django.core.exceptions import ImproperlyConfigured

from config import env

BASE_DIR = Path(__file__).resolve().parent.parent

# --- how it runs -----------------------------------------------------------
DEBUG = env.flag("CUREWRIGHT_DEBUG", default=False)
SECRET_KEY = env.text("CUREWRIGHT_SECRET_KEY", "only-for-debug" if DEBUG else None)
SHORTEST_KEY = 32
if not DEBUG and len(SECRET_KEY) < SHORTEST_KEY:
    raise ImproperlyConfigured(f"CUREWRIGHT_SECRET_KEY: fewer than {SHORTEST_KEY} characters.")
ALLOWED_HOSTS = env.words("CUREWRIGHT_HOSTS", "localhost,127.0.0.1,[::1]")
CSRF_TRUSTED_ORIGINS = env.words("CUREWRIGHT_ORIGINS")
VAR_DIR = Path(env.text("CUREWRIGHT_VAR", str(BASE_DIR / "var")))

INSTALLED_APPS = [
    "config.apps.ConfigConfig",
    "qa.apps.QaConfig",
    "dispatch.apps.DispatchConfig",
    "repairs.apps.RepairsConfig",
    "duework.apps.DueworkConfig",
    "rest_framework",
    "drf_spectacular",
    "config.apps.AdministratorsOnlyConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
]
MIDDLEWARE = [
    "config.request_id.RequestIdMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "config.content_policy.ContentPolicyMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]
ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ]
        },
    }
]

# --- the database: the queue's truth as well as the record's -----------------
DATABASE_URL = env.text("CUREWRIGHT_DATABASE_URL", f"sqlite:///{VAR_DIR / 'curewright.sqlite3'}")
DATABASES: dict[str, Any] = {"default": dict(dj_database_url.parse(DATABASE_URL))}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # IMMEDIATE takes the write lock at BEGIN, so two claims can never both read
    # a row as free; FULL syncs the log before a crew is told "stored".
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL;PRAGMA synchronous=FULL;",
    }
else:
    DATABASES["default"]["CONN_MAX_AGE"] = 60
    DATABASES["default"]["CONN_HEALTH_CHECKS"] = True
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}

WEB_THREADS = env.number(
    "CUREWRIGHT_WEB_THREADS", min(8, 2 * (os.cpu_count() or 1)), low=1, high=256
)

# --- due work ----------------------------------------------------------------
BROKER_URL = env.text("CUREWRIGHT_BROKER_URL", "")
# Without a broker nobody is rung; the tickers find the work by themselves.
DUEWORK_DOORBELL = "duework.tasks.ring" if BROKER_URL else None
DUEWORK_LEASE_S = env.number("CUREWRIGHT_LEASE_S", 60, low=2, high=3600)
DUEWORK_TICK_S = env.number("CUREWRIGHT_TICK_S", 5, low=1, high=60)
DUEWORK_KEEP_DAYS = env.number("CUREWRIGHT_KEEP_DAYS", 30, low=1, high=3_650)

# --- telling people -----------------------------------------------------------
PUBLIC_URL = env.text("CUREWRIGHT_PUBLIC_URL", "http://127.0.0.1:8000").rstrip("/")
MAIL = env.mail_server("CUREWRIGHT_SMTP_URL")
EMAIL_HOST, EMAIL_PORT = MAIL.host, MAIL.port
EMAIL_HOST_USER, EMAIL_HOST_PASSWORD = MAIL.user, MAIL.password
EMAIL_USE_SSL, EMAIL_USE_TLS = MAIL.ssl, MAIL.start_tls
EMAIL_TIMEOUT = 10
DEFAULT_FROM_EMAIL = env.text("CUREWRIGHT_MAIL_FROM", "curewright@localhost")
EMAIL_ID_DOMAIN = DEFAULT_FROM_EMAIL.rpartition("@")[2].strip("<> ") or "localhost"
WEBHOOK_TIMEOUT_S = env.number("CUREWRIGHT_WEBHOOK_TIMEOUT_S", 5, low=1, high=30)
WEBHOOK_PRIVATE = env.flag("CUREWRIGHT_WEBHOOK_PRIVATE", default=False)
CLIENT_LINK_H = env.number("CUREWRIGHT_CLIENT_LINK_H", 336, low=1, high=2160)
PLAN_SEARCH_S = env.number("CUREWRIGHT_PLAN_SEARCH_S", 20, low=1, high=600)
# Each web process has few threads, one unless told otherwise: by default a stream
# answers what is new and ends, and the browser asks again.
STREAM_S = env.number("CUREWRIGHT_STREAM_S", 0, low=0, high=300)
STREAMS = env.number("CUREWRIGHT_STREAMS", 2, low=0, high=1000)
STREAM_RETRY_S = env.number("CUREWRIGHT_STREAM_RETRY_S", 5, low=1, high=300)

# --- ways between places --------------------------------------------------------
TRAVEL_DETOUR_PERCENT = env.number("CUREWRIGHT_TRAVEL_DETOUR_PERCENT", 135, low=100, high=500)
TRAVEL_SPEED_KMH = env.number("CUREWRIGHT_TRAVEL_SPEED_KMH", 42, low=1, high=200)
TRAVEL_TRIP_S = env.number("CUREWRIGHT_TRAVEL_TRIP_S", 120, low=0, high=3600)
WAYS_URL = env.text("CUREWRIGHT_WAYS_URL", "")
WAYS_TOKEN = env.text("CUREWRIGHT_WAYS_TOKEN", "")
WAYS_PRIVATE = env.flag("CUREWRIGHT_WAYS_PRIVATE", default=False)
WAYS_TIMEOUT_S = env.number("CUREWRIGHT_WAYS_TIMEOUT_S", 10, low=1, high=60)
WAYS_CELLS = env.number("CUREWRIGHT_WAYS_CELLS", 10_000, low=1, high=10**6)
WAYS_KEPT_DAYS = env.number("CUREWRIGHT_WAYS_KEPT_DAYS", 30, low=1, high=3650)

# --- people and doors ----------------------------------------------------------
AUTH_USER_MODEL = "repairs.Account"
LOGIN_URL = "/login"
LOGIN_REDIRECT_URL = "/"
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 12},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
METRICS_TOKEN = env.text("CUREWRIGHT_METRICS_TOKEN", "")
ADMIN_ENABLED = env.flag("CUREWRIGHT_ADMIN", default=False)
HTTPS = env.flag("CUREWRIGHT_HTTPS", default=not DEBUG)
SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
SECURE_REDIRECT_EXEMPT = [r"^healthz$", r"^readyz$"]
if env.flag("CUREWRIGHT_BEHIND_PROXY", default=False):
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
X_FRAME_OPTIONS = "DENY"

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "repairs.api.device_token_auth.DeviceTokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["repairs.api.doors.RoleDoor"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["rest_framework.parsers.JSONParser"],
    "DEFAULT_PAGINATION_CLASS": "repairs.api.paging.CursorPages",
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "DEFAULT_THROTTLE_CLASSES": ["rest_framework.throttling.ScopedRateThrottle"],
    "DEFAULT_THROTTLE_RATES": {"sign-in": "20/min"},
    "EXCEPTION_HANDLER": "config.problems.problem_response",
    # A list's faults by their number only, so that a field is named as JSON reaches it.
    "LIST_SERIALIZER_ERRORS_AS_DICT": True,
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Curewright",
    "VERSION": "1",
    "OAS_VERSION": "3.1.0",
    "SERVE_INCLUDE_SCHEMA": False,
    "DESCRIPTION": "Orders, prescriptions, crews, field events, proof and closeout packages.",
}

# --- time, files, logs ----------------------------------------------------------
USE_TZ = True
TIME_ZONE = "UTC"
LANGUAGE_CODE = "en-us"
USE_I18N = False
STATIC_URL = "static/"
WHITENOISE_USE_FINDERS = True
MEDIA_ROOT = Path(env.text("CUREWRIGHT_MEDIA", str(VAR_DIR / "evidence")))
FILE_UPLOAD_PERMISSIONS = 0o600
SIGNING_KEY = Path(env.text("CUREWRIGHT_SIGNING_KEY", str(VAR_DIR / "signing-key.pem")))
PLAIN_UPLOAD_MAX_BYTES = env.number("CUREWRIGHT_UPLOAD_MB", 25, low=1, high=2048) * 1_000_000
UPLOAD_MAX_BYTES = env.number("CUREWRIGHT_FILE_MB", 2_200, low=1, high=1_000_000) * 1_000_000
UPLOAD_QUOTA_BYTES = env.number("CUREWRIGHT_QUOTA_MB", 20_000, low=1, high=10**7) * 1_000_000
UPLOAD_KEPT_H = env.number("CUREWRIGHT_UPLOAD_KEPT_H", 168, low=1, high=10_000)
RECHECK_HOUR_UTC = env.number("CUREWRIGHT_RECHECK_HOUR", 2, low=0, high=23)
S3_BUCKET = env.text("CUREWRIGHT_S3_BUCKET", "")
STORAGES: dict[str, dict[str, Any]] = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
    "sealed": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
}
if S3_BUCKET:
    STORAGES["sealed"] = {
        "BACKEND": "storages.backends.s3.S3Storage",
        "OPTIONS": {
            "bucket_name": S3_BUCKET,
            "endpoint_url": env.text("CUREWRIGHT_S3_URL", "") or None,
            "region_name": env.text("CUREWRIGHT_S3_REGION", "") or None,
            "access_key": env.text("CUREWRIGHT_S3_KEY", "") or None,
            "secret_key": env.text("CUREWRIGHT_S3_SECRET", "") or None,
            "default_acl": None,
            "querystring_auth": True,
            # Keys are hashes or written once: the same key is the same bytes.
            "file_overwrite": True,
        },
    }
DATA_UPLOAD_MAX_MEMORY_SIZE = 2_500_000
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"request_id": {"()": "config.request_id.RequestIdFilter"}},
    "formatters": {
        "json": {
            "()": "pythonjsonlogger.json.JsonFormatter",
            "format": "%(asctime)s %(levelname)s %(name)s %(message)s %(request_id)s",
        }
    },
    "handlers": {
        "stderr": {
            "class": "logging.StreamHandler",
            "formatter": "json",
            "filters": ["request_id"],
        }
    },
    "root": {
        "handlers": ["stderr"],
        "level": env.text("CUREWRIGHT_LOG_LEVEL", "INFO"),
    },
    # Each outgoing request is told by whoever makes it, if it matters.
    # Django's own handlers would say everything twice.
    "loggers": {"httpx": {"level": "WARNING"}, "django": {"handlers": [], "propagate": True}},
}

# --- what reports say -----------------------------------------------------------------
CONTRACTOR_NAME = env.text("CUREWRIGHT_CONTRACTOR", "The contractor")
REPORT_PAPER: Literal["A4", "Letter"] = env.choice("CUREWRIGHT_PAPER", "A4", "Letter")
INVENTED_DATA = env.flag("CUREWRIGHT_INVENTED_DATA", default=False)
