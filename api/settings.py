"""Settings: secrets and addresses come from the environment, all else stands here."""

import os
from pathlib import Path

from psycopg.conninfo import conninfo_to_dict

from api.server import app_files

BASE_DIR = Path(__file__).resolve().parent.parent
APP_BUILD = BASE_DIR / "frontend" / "dist"
DATA_FOLDER = Path(os.environ.get("MILLRACE_DATA", BASE_DIR / "var"))

# The `millrace` command sets both; without them Django loads (for checks) but serves nothing.
SECRET_KEY = os.environ.get("MILLRACE_SECRET_KEY", "")
DATABASE_URL = os.environ.get(
    "DATABASE_URL", "postgresql:///millrace?host=/the-environment-has-no-DATABASE_URL"
)
DEBUG = False
ALLOWED_HOSTS = os.environ.get("MILLRACE_HOSTS", "localhost,127.0.0.1,[::1]").split(",")
# Behind TLS, cookies are for TLS only; the one-command demo on loopback has none.
BEHIND_TLS = os.environ.get("MILLRACE_TLS", "") == "1"
# The address of a proxy in front, by whose word limits tell one visitor from another.
PROXY = os.environ.get("MILLRACE_PROXY", "")

INSTALLED_APPS = [
    "network.people",
    "network.materials",
    "network.places",
    "network.lots",
    "network.pickups",
    "network.workshop",
    "network.reports",
    "network.notices",
    "network.privacy",
    "api",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.postgres",
    "allauth",
    "allauth.account",
    "allauth.headless",
    "allauth.mfa",
    "allauth.usersessions",
    "procrastinate.contrib.django",
    "rest_framework",
    "django_filters",
    "drf_spectacular",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "api.middleware.secure_headers_added",
    "api.security_log.refusals_logged",
    "api.middleware.unusable_requests_refused",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    # A phone at the edge of a cell waits for each kilobyte.
    "django.middleware.gzip.GZipMiddleware",
    # An ETag on every read: what the app has already is not sent again.
    "django.middleware.http.ConditionalGetMiddleware",
    "api.sessions.KeepingCookies",
    # The app asks for the language that it is shown in.
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "allauth.account.middleware.AccountMiddleware",
]

ROOT_URLCONF = "api.urls"
WSGI_APPLICATION = "api.wsgi.application"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {"context_processors": ["django.template.context_processors.request"]},
    }
]


def database_settings(url: str) -> dict[str, object]:
    """Return Django's settings for a `postgresql://` address or a libpq connection string."""
    parts = conninfo_to_dict(url)
    named = {
        "NAME": parts.pop("dbname", "millrace"),
        "USER": parts.pop("user", ""),
        "PASSWORD": parts.pop("password", ""),
        "HOST": parts.pop("host", ""),
        "PORT": str(parts.pop("port", "")),
    }
    pool = {"min_size": 1, "max_size": int(os.environ.get("MILLRACE_POOL", "12")), "timeout": 20}
    return {
        "ENGINE": "django.db.backends.postgresql",
        **named,
        # The pool keeps connections, so Django must not.
        "CONN_MAX_AGE": 0,
        # A statement with its values apart is planned once for each connection, after a few uses;
        # to plan it took as long as to run it.
        "OPTIONS": {**parts, "pool": pool, "prepare_threshold": 5, "server_side_binding": True},
    }


DATABASES = {"default": database_settings(DATABASE_URL)}

# What counts how often one asks: by the files, which all processes of this machine share, for
# those who are not signed in; for the many writes of those who are, by each process alone.
CACHES = {
    "default": {
        "BACKEND": "django.core.cache.backends.filebased.FileBasedCache",
        "LOCATION": DATA_FOLDER / "limits",
        "OPTIONS": {"MAX_ENTRIES": 10_000},
    },
    "writes": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"},
}

AUTH_USER_MODEL = "people.User"
AUTHENTICATION_BACKENDS = [
    "allauth.account.auth_backends.AuthenticationBackend",
    "sesame.backends.ModelBackend",
]
# A link signs in once, within a day: signing in sets `last_login`, which spoils the link.
SESAME_ONE_TIME = True
SESAME_MAX_AGE = 24 * 3600

HEADLESS_ONLY = True
# Asked for while a mail is written, though our own words for the mails name neither.
HEADLESS_FRONTEND_URLS = {"account_signup": "/#/sign-in", "account_reset_password": "/#/sign-in"}
HEADLESS_CLIENTS = ("browser",)
ACCOUNT_ADAPTER = "api.people.adapter.Adapter"
# Passkeys; on loopback without TLS as well, where browsers allow them for the name localhost.
MFA_SUPPORTED_TYPES = ["webauthn"]
MFA_PASSKEY_LOGIN_ENABLED = True
MFA_WEBAUTHN_ALLOW_INSECURE_ORIGIN = not BEHIND_TLS
ACCOUNT_USER_MODEL_USERNAME_FIELD = None
ACCOUNT_LOGIN_METHODS = {"email"}
ACCOUNT_SIGNUP_FIELDS = ["email*"]
# Nobody has a password: an address is proven by a code, on signing up and on each signing in.
ACCOUNT_EMAIL_VERIFICATION = "mandatory"
ACCOUNT_EMAIL_VERIFICATION_BY_CODE_ENABLED = True
ACCOUNT_LOGIN_BY_CODE_ENABLED = True
ACCOUNT_LOGIN_BY_CODE_TIMEOUT = 15 * 60
ACCOUNT_LOGIN_BY_CODE_MAX_ATTEMPTS = 3
# Limits are on who asks, never on whose address it is, so that nobody can lock another out.
ACCOUNT_RATE_LIMITS = {
    "login": "30/m/ip",
    "login_failed": "10/m/ip",
    "request_login_code": "10/m/ip,60/h/ip",
    "signup": "10/m/ip,60/h/ip",
    "confirm_email": "10/m/ip",
}
ACCOUNT_PREVENT_ENUMERATION = True
ACCOUNT_EMAIL_SUBJECT_PREFIX = "Millrace: "
ALLAUTH_USER_CODE_FORMAT = {"numeric": True, "length": 6, "dashed": False}

# Without a mail server, mails are kept as files, and the terminal stays readable.
EMAIL_HOST = os.environ.get("MILLRACE_SMTP_HOST", "")
EMAIL_PORT = int(os.environ.get("MILLRACE_SMTP_PORT", "587"))
EMAIL_HOST_USER = os.environ.get("MILLRACE_SMTP_USER", "")
EMAIL_HOST_PASSWORD = os.environ.get("MILLRACE_SMTP_PASSWORD", "")
EMAIL_USE_TLS = os.environ.get("MILLRACE_SMTP_TLS", "1") == "1"
EMAIL_TIMEOUT = 20
EMAIL_BACKEND = os.environ.get(
    "MILLRACE_EMAIL_BACKEND",
    f"django.core.mail.backends.{'smtp' if EMAIL_HOST else 'filebased'}.EmailBackend",
)
EMAIL_FILE_PATH = DATA_FOLDER / "mail"
DEFAULT_FROM_EMAIL = os.environ.get("MILLRACE_FROM", "millrace@localhost")

# Photos; nobody reads them but through the API.
MEDIA_ROOT = DATA_FOLDER / "files"
FILE_UPLOAD_PERMISSIONS = 0o600
FILE_UPLOAD_DIRECTORY_PERMISSIONS = 0o700

# Push services and webhooks are called over TLS at public addresses; on loopback for trying out.
CALLS_TO_LOOPBACK = os.environ.get("MILLRACE_CALLS_TO_LOOPBACK", "") == "1"
# The key by which push services know this server (RFC 8292): 32 bytes in base64url; by default
# one that follows from the secret key, so that all processes have the same.
VAPID_KEY = os.environ.get("MILLRACE_VAPID_KEY", "")

SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = BEHIND_TLS
CSRF_COOKIE_SECURE = BEHIND_TLS
CSRF_FAILURE_VIEW = "api.problems.csrf_failure"
CSRF_TRUSTED_ORIGINS = [o for o in os.environ.get("MILLRACE_ORIGINS", "").split(",") if o]
# What the addresses in mails begin with; a server that nobody told says where it listens.
PUBLIC_ORIGIN = (
    os.environ.get("MILLRACE_PUBLIC_ORIGIN")
    or next(iter(CSRF_TRUSTED_ORIGINS), "")
    or "http://localhost:8000"
)
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SECURE_HSTS_SECONDS = 365 * 24 * 3600 if BEHIND_TLS else 0
# A spreadsheet of places or a photo, no more; larger bodies are refused before they are read.
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
FILE_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024

# To the terminal, where whoever runs the server keeps it: who came in, what was refused or broke.
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s: %(message)s"}},
    "handlers": {"terminal": {"class": "logging.StreamHandler", "formatter": "line"}},
    "loggers": {
        "millrace.security": {"handlers": ["terminal"], "level": "INFO"},
        "django.request": {"handlers": ["terminal"], "level": "ERROR", "propagate": False},
    },
}

LANGUAGE_CODE = "en-gb"
LANGUAGES = [("en-gb", "English"), ("en", "English"), ("de", "Deutsch")]
TIME_ZONE = "UTC"
USE_TZ = True
STATIC_URL = "/static/"
WHITENOISE_ROOT = APP_BUILD if APP_BUILD.is_dir() else None
WHITENOISE_INDEX_FILE = True
WHITENOISE_ALLOW_ALL_ORIGINS = False
WHITENOISE_IMMUTABLE_FILE_TEST = app_files.HASHED_FILE
WHITENOISE_ADD_HEADERS_FUNCTION = app_files.add_headers

PROCRASTINATE_IMPORT_PATHS = ["api.server.jobs"]

# Three times what a phone sends that kept a long day's work: 200 weighings.
WRITES_PER_MINUTE_MAX = 600
REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "api.permissions.Session",
        "api.machines.Machine",
        "api.counters.SharedDevice",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["api.permissions.RightsTable"],
    "DEFAULT_RENDERER_CLASSES": ["api.languages.SayingJSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["api.parsers.StrictJSONParser"],
    "DEFAULT_FILTER_BACKENDS": ["api.filtering.Filtering"],
    "DEFAULT_PAGINATION_CLASS": "api.pagination.KeysetPagination",
    "PAGE_SIZE": 50,
    "DEFAULT_SCHEMA_CLASS": "api.schema.Schema",
    "DEFAULT_THROTTLE_CLASSES": ["api.throttles.WriteThrottle"],
    "DEFAULT_THROTTLE_RATES": {"secret": "60/min", "write": f"{WRITES_PER_MINUTE_MAX}/min"},
    # What comes back is chosen by the Accept header alone.
    "URL_FORMAT_OVERRIDE": None,
    "EXCEPTION_HANDLER": "api.problems.problem_response",
    "UNAUTHENTICATED_USER": "django.contrib.auth.models.AnonymousUser",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Millrace",
    "DESCRIPTION": "Collect one clean stream from each place, and report it to the gram.",
    "VERSION": "1",
    "OAS_VERSION": "3.1.0",
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_PERMISSIONS": ["api.permissions.RightsTable"],
    "COMPONENT_SPLIT_REQUEST": True,
    "SCHEMA_PATH_PREFIX": "/api/v1",
    # Choices that several rooms call `kind` or `status` need names of their own.
    "ENUM_NAME_OVERRIDES": {
        "TrailActEnum": "network.people.models.TrailEntry.Act",
        "RoleEnum": "network.people.models.Role",
        "OrganisationKindEnum": "network.people.models.Organisation.Kind",
        "FindingKindEnum": "network.materials.choices.FINDINGS",
        "StateEnum": "network.materials.choices.STATES",
        "ItemFormingEnum": "network.materials.models.Item.Forming",
        "PlaceKindEnum": "network.places.models.Place.Kind",
        "PublicPrecisionEnum": "network.places.models.Place.PublicPrecision",
        "PlaceStatusEnum": "network.places.models.Place.Status",
        "SpanKindEnum": "network.places.models.CalendarSpan.Kind",
        "AgreementStatusEnum": "network.places.models.Agreement.Status",
        "ContainerKindEnum": "network.places.models.Container.Kind",
        "FillOriginEnum": "network.places.models.FillReport.Origin",
        "PlaceImportStatusEnum": "network.places.models.PlaceImport.Status",
        "HistoryStatusEnum": "network.lots.models.HistoryImport.Status",
        "AccountKindEnum": "network.lots.models.Account.Kind",
        "WeighingMethodEnum": "network.lots.models.Weighing.Method",
        "WeighingStageEnum": "network.lots.models.Weighing.Stage",
        "VerdictEnum": "network.lots.models.Inspection.Verdict",
        "FeedbackOutcomeEnum": "network.lots.queries.feedback.OUTCOMES",
        "MovementReasonEnum": "network.lots.models.Movement.Reason",
        "ProposalStatusEnum": "network.pickups.models.Proposal.Status",
        "RouteStatusEnum": "network.pickups.models.Route.Status",
        "PickupStatusEnum": "network.pickups.models.Pickup.Status",
        "LineOutcomeEnum": "network.pickups.models.PickupLine.Outcome",
        "NoticeKindEnum": "network.notices.models.Notice.Kind",
        "NoticeWayEnum": "network.notices.models.NoticeChoice.Way",
        "ProcessKindEnum": "network.workshop.models.ProcessRun.Kind",
        "WorkshopStateEnum": "network.workshop.models.State",
        "CautionEnum": "network.workshop.cautions.CAUTION_CHOICES",
        "CoolingEnum": "network.workshop.models.Press.Cooling",
        "PressingOutcomeEnum": "network.workshop.models.Pressing.Outcome",
        "FlowConditionEnum": "network.workshop.models.LotMaterial.FlowCondition",
        "LiquidKindEnum": "network.workshop.queries.identifying.LIQUIDS",
        "CustodyEnum": "network.workshop.queries.passports.CUSTODY_CHOICES",
        "LeftOutEnum": "network.workshop.queries.mixing.LEFT_OUT",
        "FormingEnum": "network.materials.choices.FORMING",
        "MixKindEnum": "api.workshop.mixing_serializers.MIX_KINDS",
    },
}
