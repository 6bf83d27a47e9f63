"""Mails that were kept as files, where there is no mail server: they name whom they were to."""

from datetime import datetime
from pathlib import Path

from django.conf import settings

_AS_FILES = "django.core.mail.backends.filebased.EmailBackend"


def delete_mails_to(address: str) -> int:
    """Delete the kept mails to, or about, an address; return how many files that were."""
    about = [path for path in _kept() if address.lower() in _text(path).lower()]
    return _delete(about)


def delete_mails_before(moment: datetime) -> int:
    """Delete the mails that were kept before a moment; return how many files that were."""
    return _delete([path for path in _kept() if path.stat().st_mtime < moment.timestamp()])


def _kept() -> list[Path]:
    if settings.EMAIL_BACKEND != _AS_FILES:
        return []
    return [path for path in Path(settings.EMAIL_FILE_PATH).glob("*.log") if path.is_file()]


def _text(path: Path) -> str:
    return path.read_text(errors="replace")


def _delete(paths: list[Path]) -> int:
    for path in paths:
        path.unlink(missing_ok=True)
    return len(paths)
