"""A photo shows what was found at the door, tells nothing else, and goes after its time."""

import io
import threading
from datetime import timedelta
from pathlib import Path
from uuid import UUID

import pytest
from django.conf import settings
from django.db import connection
from django.utils import timezone
from PIL import Image

from network.errors import Conflict, DifferentBody, InvalidInput, NotAllowed, NotFound, WrongState
from network.ids import new_id
from network.people.core.actor import Actor
from network.people.models import Role, User
from network.people.services import change_community
from network.pickups import services
from network.pickups.models import Photo, PickupLine
from network.pickups.pictures import FILE_BYTES_MAX, clean_picture
from network.pickups.queries import photo_for, photos_seen_by
from network.privacy.services import delete_what_has_had_its_time, erase_person
from tests.factories import MakerFactory, OrganisationFactory, acting
from tests.pictures import CAMERA, GPS, REMARK, a_picture, from_a_phone, unfolding
from tests.services.pickups_story import Round, make_round, on_monday

MARKUP = b"<script>alert(1)</script>"
# The end of central directory of an empty ZIP archive (APPNOTE §4.3.16).
ARCHIVE = b"PK\x05\x06" + b"\x00" * 18


@pytest.fixture
def world(db: None) -> Round:
    return make_round(places=2)


@pytest.fixture
def line(world: Round) -> PickupLine:
    return world.at_the_door()


def photographed(world: Round, line: PickupLine, content: bytes | None = None) -> Photo:
    return services.add_photo(
        world.driver,
        photo_id=new_id(),
        line_id=line.id,
        content=content or a_picture(),
        taken_at=on_monday(8, 12),
    )


def files() -> set[str]:
    folder = Path(settings.MEDIA_ROOT) / "photos"
    return {file.name for file in folder.iterdir()} if folder.exists() else set()


def name_of(photo: Photo) -> str:
    return Path(photo.file.path).name


def person_of(actor: Actor) -> UUID:
    assert actor.user_id is not None
    return actor.user_id


def test_what_a_phone_writes_into_a_picture_is_not_kept() -> None:
    sent = from_a_phone()
    with Image.open(io.BytesIO(sent)) as picture:
        assert picture.getexif().get_ifd(GPS)
        assert picture.getexif()[CAMERA] == "Quill Phone 3"
    kept = clean_picture(sent)
    with Image.open(io.BytesIO(kept)) as picture:
        assert not picture.getexif()
        assert set(picture.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        assert picture.size == (30, 40), "It is turned upright before its note of that is dropped."
    assert b"Exif" not in kept
    assert REMARK.encode() not in kept


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_pictures_of_phones_are_kept_as_jpeg(kind: str) -> None:
    with Image.open(io.BytesIO(clean_picture(a_picture(kind)))) as picture:
        assert (picture.format, picture.size) == ("JPEG", (40, 30))
        red, _, blue = picture.convert("RGB").getpixel((20, 15))  # type: ignore[misc]  # three bands
        assert (red, blue) == (0, 254)


def test_a_large_picture_is_kept_small() -> None:
    with Image.open(io.BytesIO(clean_picture(a_picture(width=4_000, height=3_000)))) as picture:
        assert picture.size == (1_600, 1_200)


@pytest.mark.parametrize("hidden", [MARKUP, ARCHIVE, b"%PDF-1.7 /JavaScript"])
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_what_is_hidden_behind_a_picture_is_gone(kind: str, hidden: bytes) -> None:
    assert hidden not in clean_picture(a_picture(kind) + hidden)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        MARKUP,
        ARCHIVE,
        b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
        b"%!PS-Adobe-3.0 EPSF-3.0\n",
        a_picture("GIF"),
        a_picture("TIFF"),
        a_picture("BMP"),
        a_picture()[:100],
        a_picture("PNG")[:40],
        b"\xff\xd8\xff\xe0" + b"\x00" * 500,
        b"\x89PNG\r\n\x1a\n" + b"\xff" * 500,
    ],
    ids=lambda content: repr(content[:12]),
)
def test_what_is_no_photo_is_refused_whatever_it_is_called(content: bytes) -> None:
    with pytest.raises(InvalidInput) as refusal:
        clean_picture(content)
    assert [fault.field for fault in refusal.value.fields] == ["file"]


@pytest.mark.parametrize(("width", "height"), [(6_000, 6_000), (12_000, 12_000), (60_000, 60_000)])
def test_a_small_file_that_unfolds_to_gigabytes_is_refused_folded(width: int, height: int) -> None:
    bomb = unfolding(width=width, height=height)
    assert len(bomb) < 1_000_000
    with pytest.raises(InvalidInput):
        clean_picture(bomb)


def test_a_file_of_more_than_four_megabytes_is_refused() -> None:
    with pytest.raises(InvalidInput, match="4 MB"):
        clean_picture(a_picture() + b"\x00" * FILE_BYTES_MAX)


def test_a_photo_is_kept_under_a_name_that_cannot_be_guessed(
    world: Round, line: PickupLine
) -> None:
    photo = photographed(world, line)
    (name,) = files() & {name_of(photo)}
    assert len(name) > 40
    assert str(photo.id) not in name
    assert Path(photo.file.path).stat().st_mode & 0o077 == 0


def test_a_photo_sent_again_is_kept_once(world: Round, line: PickupLine) -> None:
    photo, before = photographed(world, line), files()
    again = services.add_photo(
        world.driver, photo_id=photo.id, line_id=line.id, content=a_picture()
    )
    assert again == photo
    assert files() == before
    other = PickupLine.objects.exclude(id=line.id).first()
    assert other is not None
    with pytest.raises(DifferentBody):
        services.add_photo(world.driver, photo_id=photo.id, line_id=other.id, content=a_picture())


def test_a_photo_is_taken_at_a_visit_and_not_before(world: Round) -> None:
    first, second = world.on_the_road()
    with pytest.raises(WrongState, match="has not begun"):
        photographed(world, first.lines.get())
    services.skip_pickup(world.driver, pickup_id=second.id, reason="Shut.", at=on_monday(9))
    # A shut gate is worth a photo.
    assert photographed(world, second.lines.get()) == Photo.objects.get()


def test_there_are_six_photos_of_a_container_at_most(world: Round, line: PickupLine) -> None:
    for _ in range(6):
        photographed(world, line)
    with pytest.raises(Conflict, match="6 photos"):
        photographed(world, line)


def test_a_photo_is_seen_by_those_who_see_its_visit(world: Round, line: PickupLine) -> None:
    photo = photographed(world, line)
    organiser = acting(world.community, Role.ORGANISER)
    for actor in (world.maker_actor, world.driver, world.contact(0), organiser):
        assert photo_for(actor, photo.id) == photo
    elsewhere = make_round(places=1)
    other_maker = MakerFactory.create(community=world.community)
    school = OrganisationFactory.create(community=world.community)
    for actor in (
        world.contact(1),
        acting(world.community, Role.MAKER, other_maker),
        acting(world.community, Role.DRIVER, other_maker),
        acting(world.community, Role.CONTACT, school),
        elsewhere.maker_actor,
        acting(elsewhere.community, Role.ORGANISER),
    ):
        with pytest.raises(NotFound):
            photo_for(actor, photo.id)


def test_only_those_of_the_visit_take_photos(world: Round, line: PickupLine) -> None:
    organiser = acting(world.community, Role.ORGANISER)
    for actor in (world.contact(0), organiser):
        with pytest.raises(NotAllowed):
            services.add_photo(actor, photo_id=new_id(), line_id=line.id, content=a_picture())
    assert not Photo.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_whoever_took_a_photo_or_the_organiser_removes_it_with_its_file() -> None:
    world = make_round(places=1)
    line = world.at_the_door()
    organiser = acting(world.community, Role.ORGANISER)
    for remover in (world.driver, organiser):
        photo = photographed(world, line)
        for other in (world.maker_actor, world.contact(0)):
            with pytest.raises(NotAllowed):
                services.remove_photo(other, photo_id=photo.id)
        services.remove_photo(remover, photo_id=photo.id)
        assert not Photo.objects.exists()
        assert name_of(photo) not in files()


@pytest.mark.django_db(transaction=True)
def test_a_photo_is_deleted_after_the_time_its_community_chose() -> None:
    world = make_round(places=1)
    line = world.at_the_door()
    lasting = photographed(world, line)
    assert lasting.kept_until - lasting.taken_at == timedelta(days=90)
    change_community(acting(world.community, Role.ORGANISER), photos_kept_days=7)
    brief = photographed(world, line)
    assert brief.kept_until - brief.taken_at == timedelta(days=7)
    delete_what_has_had_its_time(at=brief.kept_until)
    assert Photo.objects.count() == 2
    deleted = delete_what_has_had_its_time(at=brief.kept_until + timedelta(seconds=1))
    assert deleted["photos"] == 1
    assert Photo.objects.get() == lasting
    assert {name_of(lasting)} == files() & {name_of(photo) for photo in (lasting, brief)}


def test_a_file_that_no_row_knows_is_deleted_after_a_day(world: Round, line: PickupLine) -> None:
    photo = photographed(world, line)
    stray = Path(photo.file.path).with_name("stray.jpg")
    stray.write_bytes(b"left when the power went")
    now = timezone.now()
    services.delete_unclaimed_files(at=now)
    assert stray.exists(), "Its row may be about to be written."
    services.delete_unclaimed_files(at=now + timedelta(days=2))
    assert not stray.exists()
    assert Path(photo.file.path).exists()


def test_whoever_took_a_photo_is_erased_and_the_photo_is_nobodys(
    world: Round, line: PickupLine
) -> None:
    photo = photographed(world, line)
    erase_person(user_id=person_of(world.driver))
    photo.refresh_from_db()
    assert photo.by_id is None
    assert not User.objects.filter(id=person_of(world.driver)).exists()
    assert photo_for(world.maker_actor, photo.id) == photo
    with pytest.raises(NotAllowed):
        services.remove_photo(acting_maker(world), photo_id=photo.id)


def acting_maker(world: Round) -> Actor:
    return acting(world.community, Role.MAKER, world.maker)


@pytest.mark.django_db(transaction=True)
def test_of_two_phones_at_the_limit_one_photo_is_kept() -> None:
    world = make_round(places=1)
    line = world.at_the_door()
    for _ in range(5):
        photographed(world, line)
    gate, refused = threading.Barrier(2), []

    def send() -> None:
        try:
            gate.wait(timeout=10)
            photographed(world, line)
        except Conflict as refusal:
            refused.append(refusal)
        finally:
            connection.close()

    threads = [threading.Thread(target=send) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(refused) == 1
    assert photos_seen_by(world.driver).count() == 6
