"""Mails that were kept as files, where there is no mail server: they name whom they were to."""

from pathlib import Path

from django.conf import settings

_AS_FILES = "django.core.mail.backends.filebased.EmailBackend"


def delete_mails_to(address: str) -> int:
    """Delete the kept mails to, or about, an address; return how many files that were."""
    if settings.EMAIL_BACKEND != _AS_FILES:
        return 0
    kept = [path for path in Path(settings.EMAIL_FILE_PATH).glob("*.log") if path.is_file()]
    about = [path for path in kept if address.lower() in path.read_text(errors="replace").lower()]
    for path in about:
        path.unlink(missing_ok=True)
    return len(about)
