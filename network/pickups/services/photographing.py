"""Pictures of what was found at the door, kept for a set time."""

import secrets
from datetime import datetime, timedelta
from functools import partial
from uuid import UUID

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import transaction
from django.db.models import QuerySet

from network.errors import Conflict, WrongState
from network.people.core.actor import ORGANISER, Actor
from network.people.queries import community_of
from network.people.services.trail import Act, note_act
from network.pickups.models import Photo, Pickup, PickupLine
from network.pickups.pictures import clean_picture
from network.pickups.queries import photo_for
from network.pickups.services._shared import moment, replayed
from network.pickups.services.driving import held_line

PHOTOS_OF_A_LINE_MAX = 6
FOLDER = "photos"
# A file without a row is left alone for so long: its row may be about to be written.
UNCLAIMED_HOURS = 24


@transaction.atomic
def add_photo(
    actor: Actor,
    *,
    photo_id: UUID,
    line_id: UUID,
    content: bytes,
    taken_at: datetime | None = None,
) -> Photo:
    """Keep a picture of a container at a visit that has begun; the same id again changes nothing.

    Raises NotFound, NotAllowed, WrongState before the visit, Conflict for one too many, and
    InvalidInput for what is no picture.
    """
    line = held_line(actor, line_id)
    earlier = replayed(actor, Photo, photo_id, line_id=line_id)
    if earlier is not None:
        return earlier
    _require_begun(line)
    if line.photos.count() >= PHOTOS_OF_A_LINE_MAX:
        raise Conflict(f"There are {PHOTOS_OF_A_LINE_MAX} photos of this container already.")
    picture = clean_picture(content)
    when = moment(taken_at, not_before=line.pickup.created_at)
    photo = Photo(
        id=photo_id,
        community_id=actor.community_id,
        line=line,
        by_id=actor.user_id,
        taken_at=when,
        kept_until=when + timedelta(days=community_of(actor).photos_kept_days),
    )
    photo.file.save(f"{secrets.token_urlsafe(32)}.jpg", ContentFile(picture), save=False)
    photo.save(force_insert=True)
    return photo


@transaction.atomic
def remove_photo(actor: Actor, *, photo_id: UUID) -> None:
    """Delete a picture; raises NotFound, and NotAllowed unless one took it or is the organiser."""
    photo = photo_for(actor, photo_id)
    if photo.by_id is None or photo.by_id != actor.user_id:
        actor.require(ORGANISER)
    note_act(actor, Act.PHOTO_REMOVED, photo)
    _delete(Photo.objects.filter(id=photo.id))


@transaction.atomic
def delete_outdated_photos(*, at: datetime) -> int:
    """Delete the pictures that were kept for their time, row and file; return how many."""
    return _delete(Photo.objects.filter(kept_until__lt=at))


def delete_unclaimed_files(*, at: datetime) -> int:
    """Delete files that no row knows, left when something broke off; return how many."""
    before = at - timedelta(hours=UNCLAIMED_HOURS)
    count = 0
    for name in _files_of_photos():
        kept = Photo.objects.filter(file=name).exists()
        if not kept and default_storage.get_modified_time(name) < before:
            default_storage.delete(name)
            count += 1
    return count


def _files_of_photos() -> list[str]:
    if not default_storage.exists(FOLDER):
        return []
    return [f"{FOLDER}/{name}" for name in default_storage.listdir(FOLDER)[1]]


def _require_begun(line: PickupLine) -> None:
    if line.pickup.status in {Pickup.Status.ASKED, Pickup.Status.PLANNED}:
        raise WrongState("This visit has not begun: arrive there first.")
    if line.pickup.status == Pickup.Status.CALLED_OFF:
        raise WrongState("This visit was called off.")


def _delete(photos: QuerySet[Photo]) -> int:
    """Delete the rows now and the files once that stands; what breaks off between is swept."""
    names = list(photos.values_list("file", flat=True))
    photos.delete()
    for name in names:
        transaction.on_commit(partial(default_storage.delete, name))
    return len(names)
