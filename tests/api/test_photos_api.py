"""Photos over HTTP: who adds them, who sees them, and what is not let in."""

import io
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from network.ids import new_id
from network.people.models import Role, User
from network.pickups.models import Photo, PickupLine
from tests.api.pickups_caller import Caller
from tests.factories import UserFactory
from tests.pictures import REMARK, a_picture, from_a_phone, unfolding
from tests.services.pickups_story import Round, make_round

pytestmark = pytest.mark.django_db


@pytest.fixture
def world() -> Round:
    return make_round(places=2)


@pytest.fixture
def line(world: Round) -> PickupLine:
    return world.at_the_door()


@pytest.fixture
def driver(world: Round) -> Caller:
    return Caller(world, Role.DRIVER, world.maker)


def send(
    caller: Caller,
    line: PickupLine,
    content: bytes,
    *,
    key: object = None,
    name: str = "photo.jpg",
    **form: str,
) -> Any:
    return caller.client.post(
        f"{caller.base}pickup-lines/{line.id}/photos/",
        {"file": SimpleUploadedFile(name, content, content_type="image/jpeg"), **form},
        headers={"Idempotency-Key": str(key or new_id())},
    )


def test_a_photo_is_sent_once_and_read_by_the_place(
    world: Round, line: PickupLine, driver: Caller
) -> None:
    key = new_id()
    taken_at = "2026-03-02T08:12:00Z"
    first = send(driver, line, from_a_phone(), key=key, taken_at=taken_at)
    again = send(driver, line, from_a_phone(), key=key, taken_at=taken_at)
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.json() == again.json()
    assert first.json() == {
        "id": str(key),
        "taken_at": taken_at,
        "kept_until": "2026-05-31T08:12:00Z",
        "url": f"/api/v1/communities/{world.community.slug}/photos/{key}/",
    }
    other = send(driver, line, a_picture(), key=key, taken_at=taken_at)
    assert (other.status_code, other.json()["code"]) == (409, "different_body")
    assert Photo.objects.count() == 1
    contact = Caller(world, Role.CONTACT, world.places[0].organisation)
    read = contact.client.get(first.json()["url"], headers={"Accept": "image/avif,*/*;q=0.8"})
    assert read.headers["Content-Type"] == "image/jpeg"
    assert read.headers["Cache-Control"] == "private, no-cache"
    assert read.headers["X-Content-Type-Options"] == "nosniff"
    with Image.open(io.BytesIO(read.content)) as picture:
        assert not picture.getexif()
    assert REMARK.encode() not in read.content
    known = contact.client.get(first.json()["url"], headers={"If-None-Match": read["ETag"]})
    assert (known.status_code, known.content) == (304, b"")


def test_a_photo_is_listed_where_its_container_is(
    world: Round, line: PickupLine, driver: Caller
) -> None:
    photo = send(driver, line, a_picture()).json()
    visit = driver.get(f"pickups/{line.pickup_id}/").json()
    route = driver.get(f"routes/{line.pickup.route_id}/").json()
    assert visit["lines"][0]["photos"] == [photo]
    assert route["pickups"][0]["lines"][0]["photos"] == [photo]
    world.collect(line, 8_000)
    contact = Caller(world, Role.CONTACT, world.places[0].organisation)
    feedback = contact.get(f"places/{world.places[0].id}/feedback/").json()
    assert feedback["visits"][0]["lines"][0]["photos"] == [photo]


def test_whoever_took_it_removes_it(line: PickupLine, driver: Caller) -> None:
    photo, key = send(driver, line, a_picture()).json(), uuid4()
    for _ in range(2):
        gone = driver.write(f"photos/{photo['id']}/", {}, method="delete", key=key)
        assert gone.status_code == 204
    assert driver.get(f"photos/{photo['id']}/").status_code == 404


def test_a_photo_is_not_there_for_a_stranger_or_another_community(
    world: Round, line: PickupLine, driver: Caller
) -> None:
    url = send(driver, line, a_picture()).json()["url"]
    elsewhere = make_round(places=1)
    assert Client().get(url).status_code == 401
    stranger = Client()
    person: User = UserFactory.create()
    stranger.force_login(person)
    assert stranger.get(url).status_code == 403
    for role in (Role.MAKER, Role.ORGANISER):
        other = Caller(elsewhere, role, None if role == Role.ORGANISER else elsewhere.maker)
        assert other.client.get(url).status_code == 403
        own = url.replace(f"/{world.community.slug}/", f"/{elsewhere.community.slug}/")
        assert other.client.get(own).status_code == 404
        assert other.write(f"photos/{own.split('/')[-2]}/", {}, method="delete").status_code == 404
    assert (
        send(Caller(elsewhere, Role.DRIVER, elsewhere.maker), line, a_picture()).status_code == 404
    )


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("photo.jpg", b"<html><script>alert(1)</script>"),
        ("photo.jpg", b"GIF89a" + b"\x00" * 100),
        ("../../photo.jpg", b"\x7fELF\x02"),
        ("photo.svg", b"<svg xmlns='http://www.w3.org/2000/svg'/>"),
        ("photo.jpg", b""),
        ("photo.jpg", unfolding(width=20_000, height=20_000)),
        ("photo.jpg", a_picture() + b"\x00" * (4 * 1024 * 1024)),
    ],
    ids=["markup", "gif", "program", "drawing", "nothing", "bomb", "large"],
)
def test_what_is_no_photo_is_refused_by_its_field(
    line: PickupLine, driver: Caller, name: str, content: bytes
) -> None:
    refused = send(driver, line, content, name=name)
    assert refused.status_code == 422
    assert [error["field"] for error in refused.json()["errors"]] == ["file"]
    assert refused.json()["errors"][0]["mend"]
    assert not Photo.objects.exists()


def test_a_form_without_a_file_or_a_body_without_a_form_is_refused(
    line: PickupLine, driver: Caller
) -> None:
    path = f"pickup-lines/{line.id}/photos/"
    headers = {"Idempotency-Key": str(new_id())}
    for form in ({}, {"file": "text"}, {"file": a_file(), "taken_at": "soon"}):
        refused = driver.client.post(driver.base + path, form, headers=headers)
        assert refused.status_code == 422, form
    assert driver.write(path, {"file": "text"}).status_code == 415
    cut = driver.client.generic(
        "POST",
        driver.base + path,
        b"--x\r\nContent-Disposition: form-data; name=",
        content_type="multipart/form-data; boundary=x",
        headers=headers,
    )
    assert 400 <= cut.status_code < 500
    assert not Photo.objects.exists()


def a_file() -> SimpleUploadedFile:
    return SimpleUploadedFile("photo.jpg", a_picture())


def test_a_body_of_more_than_five_megabytes_is_refused(line: PickupLine, driver: Caller) -> None:
    refused = send(driver, line, b"\xff\xd8\xff" + b"\x00" * (5 * 1024 * 1024))
    assert refused.status_code == 413


def test_the_organiser_chooses_how_long_photos_are_kept(
    world: Round, line: PickupLine, driver: Caller
) -> None:
    organiser = Caller(world, Role.ORGANISER)
    assert organiser.get("settings/").json() == {"photos_kept_days": 90}
    chosen = organiser.write("settings/", {"photos_kept_days": 14}, method="put")
    assert chosen.json() == {"photos_kept_days": 14}
    for wrong in (0, 366, "long"):
        refused = organiser.write("settings/", {"photos_kept_days": wrong}, method="put")
        assert refused.json()["errors"][0]["field"] == "photos_kept_days"
    photo = send(driver, line, a_picture(), taken_at="2026-03-02T08:12:00Z").json()
    assert photo["kept_until"] == "2026-03-16T08:12:00Z"
