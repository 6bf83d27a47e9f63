from typing import ClassVar

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models import Q

from network.ids import new_id
from network.tongues import ENGLISH


class Row(models.Model):
    """A row with an id that the client may have made."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)

    class Meta:
        abstract = True


class Community(Row):
    """One network of places and makers with an organiser: the tenant."""

    slug = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=120)
    timezone = models.CharField(max_length=64)
    # ISO 3166-1 alpha-2 and, where there is one, the ISO 3166-2 part: for public holidays.
    country = models.CharField(max_length=2)
    subdivision = models.CharField(max_length=10, blank=True)
    currency = models.CharField(max_length=3)  # ISO 4217
    longitude = models.FloatField()
    latitude = models.FloatField()
    open_to_registration = models.BooleanField(default=True)
    # How long a picture taken at a visit is kept.
    photos_kept_days = models.PositiveSmallIntegerField(default=90)
    created_at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "communities"

    def __str__(self) -> str:
        return self.name


class CommunityRow(Row):
    """A row that belongs to one community and is never seen from another."""

    community = models.ForeignKey(Community, on_delete=models.PROTECT, related_name="+")

    class Meta:
        abstract = True


class UserManager(BaseUserManager["User"]):
    def create_user(self, email: str, name: str = "", password: str | None = None) -> "User":
        user = self.model(email=self.normalize_email(email).lower(), name=name)
        user.set_password(password)
        user.save(using=self._db)
        return user


class User(Row, AbstractBaseUser):
    """A person who signs in; the least we need: an address, a language to write in, a name."""

    email = models.EmailField(unique=True)
    name = models.CharField(max_length=120, blank=True)
    # In which mails are written; what no catalogue knows is in English.
    language = models.CharField(max_length=8, default=ENGLISH)
    is_active = models.BooleanField(default=True)
    created_at = models.DateTimeField(auto_now_add=True)

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = []

    objects = UserManager()

    def __str__(self) -> str:
        return self.name or self.email


class District(CommunityRow):
    """A part of a community that reports are told apart by."""

    name = models.CharField(max_length=120)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["community", "name"], name="district_name_unique")
        ]

    def __str__(self) -> str:
        return self.name


class Organisation(CommunityRow):
    """A legal or informal body: a school, café, salon, cleaning firm, maker or council."""

    class Kind(models.TextChoices):
        SCHOOL = "school", "school"
        CAFE = "cafe", "café"
        SALON = "salon", "salon"
        CLEANER = "cleaner", "cleaning firm"
        MAKER = "maker", "maker"
        COUNCIL = "council", "council"
        OTHER = "other", "other"

    name = models.CharField(max_length=160)
    kind = models.CharField(max_length=10, choices=Kind.choices)
    # As the local register of waste carriers has it; recorded, not judged.
    carrier_registration = models.CharField(max_length=60, blank=True)
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["community", "name"], name="organisation_name_unique")
        ]

    def __str__(self) -> str:
        return self.name


class Role(models.TextChoices):
    CONTACT = "contact", "contact of a place"
    DRIVER = "driver", "driver"
    MAKER = "maker", "maker"
    ORGANISER = "organiser", "organiser"


class Membership(CommunityRow):
    """A person's role in a community, for all but organisers held for an organisation."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=10, choices=Role.choices)
    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, null=True, blank=True, related_name="memberships"
    )
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["community", "user", "role", "organisation"],
                nulls_distinct=False,
                name="membership_once",
            ),
            models.CheckConstraint(
                condition=Q(role=Role.ORGANISER) | Q(organisation__isnull=False),
                name="membership_names_its_organisation",
            ),
        ]


class Invitation(CommunityRow):
    """A link, used once and before it expires, by which someone joins; only its hash is kept."""

    token_sha256 = models.CharField(max_length=64, unique=True)
    role = models.CharField(max_length=10, choices=Role.choices)
    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    # What the organiser already knows, so that the invited need not type it again.
    suggested_name = models.CharField(max_length=160, blank=True)
    suggested_kind = models.CharField(max_length=10, blank=True)
    created_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)
    used_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")


class MachineToken(CommunityRow):
    """What a machine shows to act for a person in one community; only its hash is kept."""

    owner = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    name = models.CharField(max_length=80)
    may_write = models.BooleanField()
    token_sha256 = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    last_used_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)


class TrailEntry(CommunityRow):
    """Who saw or changed what matters, and when; append-only by trigger.

    Erasing a person empties `by` and `about`; the codes stay, by which one sees that two entries
    are of the same person, and not of whom.
    """

    class Act(models.TextChoices):
        ROLE_GRANTED = "role_granted", "got a role"
        ROLE_ENDED = "role_ended", "has a role no more"
        INVITED = "invited", "made an invitation"
        CONTACT_SEEN = "contact_seen", "saw how to reach a place"
        MEMBERS_SEEN = "members_seen", "saw the list of members"
        PHOTO_SEEN = "photo_seen", "saw a photo"
        PHOTO_REMOVED = "photo_removed", "removed a photo"
        DATA_EXPORTED = "data_exported", "downloaded their own data"
        PERSON_ERASED = "person_erased", "was erased"
        RULES_PUBLISHED = "rules_published", "published rules"
        AGREEMENT_ENDED = "agreement_ended", "ended an agreement"
        PERIOD_SEALED = "period_sealed", "closed a period"
        TOKEN_MADE = "token_made", "made a token for a machine"
        TOKEN_REVOKED = "token_revoked", "took back a token"
        FEED_MADE = "feed_made", "made a calendar address"
        FEED_REVOKED = "feed_revoked", "took back a calendar address"
        WEBHOOK_MADE = "webhook_made", "made a webhook"
        WEBHOOK_STOPPED = "webhook_stopped", "stopped a webhook"
        COUNTER_MADE = "counter_made", "made a shared device"
        COUNTER_REVOKED = "counter_revoked", "took back a shared device"

    at = models.DateTimeField()
    act = models.CharField(max_length=20, choices=Act.choices)
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")
    by_code = models.CharField(max_length=12, blank=True)
    # Whom it was done to, where that is a person.
    about = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")
    about_code = models.CharField(max_length=12, blank=True)
    # The table and the row, which may be gone by now.
    subject = models.CharField(max_length=40, blank=True)
    subject_id = models.UUIDField(null=True)

    class Meta:
        indexes = [models.Index(fields=["community", "act", "-id"], name="trail_of_act")]
