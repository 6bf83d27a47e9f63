import datetime as dt

from django.db import models
from django.db.models import Q

from network.people.models import CommunityRow, User
from network.pickups.models import Vehicle
from network.places.models import Place


class Notice(CommunityRow):
    """Something a person is told, once: in the list in the app and, if chosen, by e-mail."""

    class Kind(models.TextChoices):
        PICKUP_BOOKED = "pickup_booked", "A visit is booked"
        PICKUP_MOVED = "pickup_moved", "A visit has another day or time"
        PICKUP_CALLED_OFF = "pickup_called_off", "A visit is called off"
        PICKUP_ON_ITS_WAY = "pickup_on_its_way", "The van is on its way"
        PICKUP_DONE = "pickup_done", "A visit is done"
        PICKUP_MISSED = "pickup_missed", "A visit did not happen"
        FEEDBACK = "feedback", "What was found in what you gave"
        RULES_CHANGED = "rules_changed", "The rules of what you set aside change"
        PLACE_ADMITTED = "place_admitted", "Your place is admitted"
        PLACE_REFUSED = "place_refused", "Your place is not admitted"
        PICKUP_ASKED = "pickup_asked", "A place asks for a visit"
        WEEK_SUMMARY = "week_summary", "The week in numbers"
        WEBHOOK_DISABLED = "webhook_disabled", "A webhook was turned off"

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    kind = models.CharField(max_length=20, choices=Kind.choices)
    # What happened, and to which thing: the same is told to a person once.
    event_id = models.UUIDField()
    subject_id = models.UUIDField()
    title = models.CharField(max_length=240)
    paragraphs = models.JSONField()
    # Where in the app one sees more.
    link = models.CharField(max_length=200)
    created_at = models.DateTimeField()
    read_at = models.DateTimeField(null=True, blank=True)
    # Not before; None where the person wants no e-mail of this kind.
    mail_due_at = models.DateTimeField(null=True, blank=True)
    mailed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes = [models.Index(fields=["community", "user", "-id"], name="notice_of_person")]
        constraints = [
            models.UniqueConstraint(
                fields=["community", "user", "event_id", "subject_id"], name="notice_once"
            )
        ]


class NoticeChoice(CommunityRow):
    """What a person wants to be told in a community, how, and when not."""

    class Way(models.TextChoices):
        EMAIL = "email", "by e-mail and in the list"
        PUSH = "push", "on one's devices and in the list"
        LIST = "list", "in the list only"
        NONE = "none", "not at all"

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    # Kind to way; a kind that is left out goes by e-mail.
    ways = models.JSONField(default=dict, blank=True)
    # No e-mail in between, by the community's clock; where the two are the same, there is no night.
    quiet_from = models.TimeField(default=dt.time(21))
    quiet_until = models.TimeField(default=dt.time(7))

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["community", "user"], name="notice_choice_once")
        ]


class CalendarFeed(CommunityRow):
    """A secret address at which a calendar program reads the visits to a place or of a van.

    It shows what its owner may see, for as long as they may; only its token's hash is kept.
    """

    owner = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    place = models.ForeignKey(
        Place, on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    vehicle = models.ForeignKey(
        Vehicle, on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    token_sha256 = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField()
    last_read_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(place__isnull=False, vehicle__isnull=True)
                | Q(place__isnull=True, vehicle__isnull=False),
                name="calendar_feed_of_one_thing",
            )
        ]


class PushDevice(CommunityRow):
    """A browser that shows a person's notices also while the app is shut (RFC 8030)."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    # Where its push service takes messages: who has the address can send there.
    endpoint = models.CharField(max_length=1000)
    # The browser's public key and its secret, as it gave them, in base64url (RFC 8291 §2).
    p256dh = models.CharField(max_length=100)
    auth = models.CharField(max_length=40)
    # As the person's list of devices calls it.
    name = models.CharField(max_length=80)
    created_at = models.DateTimeField()
    last_sent_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["community", "endpoint"], name="push_device_once")
        ]


class Push(CommunityRow):
    """One notice on its way to one device, once."""

    notice = models.ForeignKey(Notice, on_delete=models.CASCADE, related_name="pushes")
    device = models.ForeignKey(PushDevice, on_delete=models.CASCADE, related_name="+")
    due_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["notice", "device"], name="push_once")]


class Webhook(CommunityRow):
    """An address of a machine that is told what happens; its secret follows from its id."""

    owner = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    name = models.CharField(max_length=80)
    url = models.CharField(max_length=1000)
    created_at = models.DateTimeField()
    # Since when nothing has arrived; None once something does.
    failing_since = models.DateTimeField(null=True, blank=True)
    # Turned off by us, since nothing arrived for too long, or by a person.
    disabled_at = models.DateTimeField(null=True, blank=True)
    stopped_at = models.DateTimeField(null=True, blank=True)


class WebhookDelivery(CommunityRow):
    """One thing that is told one machine, and what came of it; its id goes with every try."""

    webhook = models.ForeignKey(Webhook, on_delete=models.CASCADE, related_name="deliveries")
    event_id = models.UUIDField()
    subject_id = models.UUIDField()
    type = models.CharField(max_length=40)
    payload = models.JSONField()
    created_at = models.DateTimeField()
    tries = models.PositiveIntegerField(default=0)
    last_tried_at = models.DateTimeField(null=True, blank=True)
    # What the machine answered at the last try; None where it could not be reached.
    last_status = models.PositiveSmallIntegerField(null=True, blank=True)
    last_fault = models.CharField(max_length=200, blank=True)
    delivered_at = models.DateTimeField(null=True, blank=True)
    given_up_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["webhook", "event_id", "subject_id", "type"], name="webhook_delivery_once"
            )
        ]
