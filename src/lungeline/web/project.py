"""Django, set up for the pages: accounts and sessions in a database of their own, beside the record."""

import secrets
from pathlib import Path
from typing import Any

import django
from django.conf import settings
from django.core.management import call_command

from lungeline.record.store.databases import APP as RECORD
from lungeline.record.store.databases import sqlite

ACCOUNTS, SECRET = "pages.sqlite3", "pages.secret"
_OWNER_ONLY = 0o600
_SECRET_BYTES = 48
_MOST_BODY_BYTES = 8 * 1024 * 1024  # an entry of some megabytes passes, a film does not
_HERE = Path(__file__).parent


def set_up(folder: Path, *, secure: bool = False, hosts: tuple[str, ...] = ()) -> None:
    """Make Django ready for the pages of a data folder.

    secure: whether the pages are reached through TLS, so that cookies must be too.
    hosts: further names under which other devices reach them.
    """
    folder.mkdir(parents=True, exist_ok=True)
    settings.configure(**_described(folder, secure=secure, hosts=hosts))
    django.setup()
    call_command("migrate", verbosity=0, interactive=False, skip_checks=True)


def _described(folder: Path, *, secure: bool, hosts: tuple[str, ...]) -> dict[str, Any]:
    return {
        "DEBUG": False,
        "SECRET_KEY": _secret(folder / SECRET),
        "ALLOWED_HOSTS": ["127.0.0.1", "localhost", "[::1]", "testserver", *hosts],
        "ROOT_URLCONF": "lungeline.web.urls",
        "INSTALLED_APPS": [
            "django.contrib.auth",
            "django.contrib.contenttypes",
            "django.contrib.sessions",
            RECORD,
            "lungeline.web.apps.WebConfig",
        ],
        "DATABASES": {"default": sqlite(folder / ACCOUNTS)},
        "DATABASE_ROUTERS": ["lungeline.web.apps.AccountsOnly"],
        "DEFAULT_AUTO_FIELD": "django.db.models.BigAutoField",
        "MIDDLEWARE": [
            "django.middleware.security.SecurityMiddleware",
            "django.contrib.sessions.middleware.SessionMiddleware",
            "django.middleware.common.CommonMiddleware",
            "django.middleware.csrf.CsrfViewMiddleware",
            "django.contrib.auth.middleware.AuthenticationMiddleware",
            "django.middleware.clickjacking.XFrameOptionsMiddleware",
            "lungeline.web.parts.headers.headers",
            "lungeline.web.entrance.gate.gate",
            "lungeline.web.parts.refusals.refusals",
        ],
        "TEMPLATES": [
            {
                "BACKEND": "django.template.backends.django.DjangoTemplates",
                "DIRS": [_HERE / "templates"],
                "OPTIONS": {
                    "context_processors": [
                        "django.template.context_processors.request",
                        "lungeline.web.parts.frame.frame",
                    ],
                    "builtins": ["lungeline.web.templatetags.pages"],
                },
            }
        ],
        "PASSWORD_HASHERS": ["django.contrib.auth.hashers.Argon2PasswordHasher"],
        "SESSION_COOKIE_NAME": "lungeline_session",
        "SESSION_COOKIE_SECURE": secure,
        "SESSION_COOKIE_SAMESITE": "Strict",
        "CSRF_COOKIE_NAME": "lungeline_csrf",
        "CSRF_COOKIE_SECURE": secure,
        "CSRF_COOKIE_SAMESITE": "Strict",
        "CSRF_FAILURE_VIEW": "lungeline.web.parts.refusals.forged",
        "DATA_UPLOAD_MAX_MEMORY_SIZE": _MOST_BODY_BYTES,
        "SECURE_REFERRER_POLICY": "same-origin",
        "X_FRAME_OPTIONS": "DENY",
        "USE_TZ": True,
        "USE_I18N": False,  # wordings are the catalogue's
        "STATIC_URL": "/static/",
        "LOGGING_CONFIG": None,
    }


def _secret(path: Path) -> str:
    """Return the secret that seals sessions, made where there is none, readable by its owner only."""
    if not path.exists():
        path.touch(mode=_OWNER_ONLY)
        path.write_text(secrets.token_urlsafe(_SECRET_BYTES), encoding="ascii")
    return path.read_text(encoding="ascii")
