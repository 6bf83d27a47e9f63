"""How long each thing is kept; what has had its time is deleted each night."""

from collections.abc import Mapping
from datetime import datetime, timedelta

from allauth.usersessions.models import UserSession
from django.contrib.sessions.models import Session
from django.db import transaction
from django.db.models import Model, Q, QuerySet

from network.lots.models import HistoryImport
from network.notices.models import CalendarFeed, Notice, WebhookDelivery
from network.people.models import Invitation, TrailEntry
from network.pickups.services import delete_outdated_photos
from network.places.models import PlaceImport
from network.privacy.services.mail_files import delete_mails_before

DAYS_KEPT: Mapping[str, int] = {
    "invitation": 90,
    "read_notice": 180,
    "notice": 365,
    "calendar_feed": 30,
    "webhook_delivery": 30,
    "import_preview": 30,
    "import": 90,
    "trail": 730,
    "mail_file": 30,
}


@transaction.atomic
def delete_what_has_had_its_time(*, at: datetime) -> dict[str, int]:
    """Delete what is no longer needed, and return how many rows of what."""
    deleted: dict[str, int] = {}
    for what, rows in _outdated(at).items():
        count, _ = rows.delete()
        deleted[what] = count
    # What the columns meant is kept for the next file; what was in it is in the ledger.
    kept = HistoryImport.objects.filter(created_at__lt=at - timedelta(days=DAYS_KEPT["import"]))
    deleted["history_files"] = kept.exclude(cells=[]).update(cells=[], preview={})
    deleted["mail_files"] = delete_mails_before(at - timedelta(days=DAYS_KEPT["mail_file"]))
    deleted["photos"] = delete_outdated_photos(at=at)
    living = Session.objects.values("session_key")
    UserSession.objects.exclude(session_key__in=living).delete()
    return deleted


def _outdated(at: datetime) -> dict[str, QuerySet[Model]]:
    before = {what: at - timedelta(days=days) for what, days in DAYS_KEPT.items()}
    used = Q(used_at__lt=before["invitation"]) | Q(expires_at__lt=before["invitation"])
    read = Q(read_at__lt=before["read_notice"]) | Q(created_at__lt=before["notice"])
    looked_at = Q(status=PlaceImport.Status.PREVIEW, created_at__lt=before["import_preview"])
    return {
        "invitations": Invitation.objects.filter(used),
        "notices": Notice.objects.filter(read),
        "calendar_feeds": CalendarFeed.objects.filter(revoked_at__lt=before["calendar_feed"]),
        "webhook_deliveries": WebhookDelivery.objects.filter(
            created_at__lt=before["webhook_delivery"]
        ),
        "imports": PlaceImport.objects.filter(looked_at | Q(created_at__lt=before["import"])),
        "history_previews": HistoryImport.objects.filter(
            status=HistoryImport.Status.PREVIEW, created_at__lt=before["import_preview"]
        ),
        "trail": TrailEntry.objects.filter(at__lt=before["trail"]),
        "sessions": Session.objects.filter(expire_date__lt=at),
    }
