"""Notices on devices, over a real push service on loopback that opens what it gets."""

import json
from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta

import pytest
from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.asymmetric import ec
from django.conf import LazySettings
from django.db import connection
from django.utils import timezone
from procrastinate.contrib.django.models import ProcrastinateJob

from network.errors import Conflict, InvalidInput, NotFound
from network.ids import new_id
from network.notices.models import Notice, NoticeChoice, Push, PushDevice
from network.notices.queries import push_devices_of
from network.notices.services import (
    add_push_device,
    choose,
    push_key,
    push_notice,
    remove_push_device,
    tell,
)
from network.notices.services.pushing import NotPushedError
from network.outbound import NotReachedError
from network.people.core.actor import Actor
from network.people.models import Role, User
from tests.factories import OrganisationFactory, acting
from tests.push_services import (
    CURVE,
    Browser,
    LocalService,
    claims_of,
    subscription,
    to_bytes,
    to_text,
)
from tests.services.notices_story import mails_queued, stop_clock, tell_all
from tests.services.pickups_story import SUNDAY_EVENING, Round, make_round
from tests.services.test_notices_mail import WORKER, all_succeeded, wait_until
from tests.workers import empty_the_queue, running_worker

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def service(settings: LazySettings) -> Iterator[LocalService]:
    empty_the_queue()
    settings.CALLS_TO_LOOPBACK = True
    with LocalService().running() as running:
        yield running


@pytest.fixture
def world(monkeypatch: pytest.MonkeyPatch) -> Round:
    stop_clock(monkeypatch, SUNDAY_EVENING)
    return make_round(places=1)


def wants_push(actor: Actor, *, quiet_until: time = time(0), quiet_from: time = time(0)) -> None:
    ways = dict.fromkeys(Notice.Kind.values, NoticeChoice.Way.PUSH)
    choose(actor, ways=ways, quiet_from=quiet_from, quiet_until=quiet_until)


def subscribe(
    actor: Actor, service: LocalService, browser: Browser, path: str = "/a"
) -> PushDevice:
    sent = browser.subscription(service.url + path)
    return add_push_device(actor, device_id=new_id(), name="Phone", **sent)


def booked(world: Round, actor: Actor) -> list[Push]:
    world.booked()
    tell_all()
    assert actor.user_id is not None
    return list(Push.objects.filter(notice__user_id=actor.user_id).order_by("id"))


def test_what_the_standard_gives_as_an_example_is_opened() -> None:
    """RFC 8291 appendix A; so the browser of these tests does what browsers do."""
    number = int.from_bytes(to_bytes("q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94"))
    browser = Browser(
        key=ec.derive_private_key(number, CURVE), auth=to_bytes("BTBZMqHH6r4Tts7J_aSIgg")
    )
    body = (
        "DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS"
        "6TlzAC8wEqKK6PBru3jl7A_yl95bQpu6cVPTpK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qu"
        "lcy4a-fN"
    )
    assert browser.open(to_bytes(body)) == b"When I grow up, I want to be a watermelon"


def test_a_device_gets_the_notice_and_only_it_can_read_it(
    service: LocalService, world: Round
) -> None:
    contact, browser = world.contact(), Browser()
    wants_push(contact)
    subscribe(contact, service, browser)
    (push,) = booked(world, contact)
    assert push_notice(push_id=push.id)
    (taken,) = service.taken
    said = json.loads(browser.open(taken.body))
    assert said == {
        "id": str(push.notice_id),
        "title": push.notice.title,
        "body": push.notice.paragraphs[0],
        "link": f"/places/{world.places[0].id}/visits",
    }
    assert "Monday 2 March" in said["title"]
    assert said["title"].encode() not in taken.body
    with pytest.raises(InvalidTag):
        Browser(key=browser.key).open(taken.body)
    assert taken.headers["Content-Encoding"] == "aes128gcm"
    assert taken.headers["TTL"] == "86400"
    assert to_bytes(taken.headers["Topic"]) == push.notice_id.bytes
    assert len(taken.headers["Topic"]) <= 32  # RFC 8030 §5.4
    assert not mails_queued()


def test_it_is_told_in_the_language_of_the_person(service: LocalService, world: Round) -> None:
    contact, browser = world.contact(), Browser()
    assert contact.user_id is not None
    User.objects.filter(id=contact.user_id).update(language="de")
    wants_push(contact)
    subscribe(contact, service, browser)
    (push,) = booked(world, contact)
    push_notice(push_id=push.id)
    said = json.loads(browser.open(service.taken[0].body))
    assert "Montag, 2. März" in said["title"]
    assert said["body"] != push.notice.paragraphs[0]


def test_the_service_can_check_who_sends(service: LocalService, world: Round) -> None:
    contact = world.contact()
    wants_push(contact)
    subscribe(contact, service, Browser())
    (push,) = booked(world, contact)
    push_notice(push_id=push.id)
    claims, key = claims_of(service.taken[0].headers["Authorization"])
    assert key == push_key()
    assert claims["aud"] == service.url
    assert claims["sub"].startswith("mailto:")
    ends = datetime.fromtimestamp(claims["exp"], tz=UTC)
    assert timedelta(0) < ends - SUNDAY_EVENING <= timedelta(hours=24)  # RFC 8292 §2


def test_a_key_from_the_environment_is_used(settings: LazySettings) -> None:
    by_default = push_key()
    assert by_default == push_key()
    key = ec.generate_private_key(CURVE)
    settings.VAPID_KEY = to_text(key.private_numbers().private_value.to_bytes(32))
    assert to_bytes(push_key()) == Browser(key=key).point != to_bytes(by_default)


def test_each_of_ones_devices_gets_it_once(service: LocalService, world: Round) -> None:
    contact = world.contact()
    wants_push(contact)
    for path in ("/a", "/b"):
        subscribe(contact, service, Browser(), path)
    pushes = booked(world, contact)
    for push in [*pushes, *pushes]:
        push_notice(push_id=push.id)
    assert sorted(taken.path for taken in service.taken) == ["/a", "/b"]


def test_nothing_is_pushed_at_night(
    service: LocalService, world: Round, monkeypatch: pytest.MonkeyPatch
) -> None:
    contact = world.contact()
    stop_clock(monkeypatch, datetime(2026, 3, 1, 22, tzinfo=UTC))
    wants_push(contact, quiet_from=time(21), quiet_until=time(7))
    subscribe(contact, service, Browser())
    (push,) = booked(world, contact)
    assert push.due_at == datetime(2026, 3, 2, 7, tzinfo=UTC)
    (job,) = ProcrastinateJob.objects.filter(queue_name="push")
    assert job.scheduled_at == push.due_at


def test_each_notice_arrives_once_after_the_service_was_down_for_a_while(
    service: LocalService, world: Round
) -> None:
    contact, browser = world.contact(), Browser()
    wants_push(contact)
    subscribe(contact, service, browser)
    pushes = booked(world, contact)
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM procrastinate_jobs WHERE queue_name <> 'push'")
    service.status = 503
    with running_worker(WORKER, MILLRACE_CALLS_TO_LOOPBACK="1"):
        wait_until(lambda: service.refused >= 3)
        service.status = 429
        refused = service.refused
        wait_until(lambda: service.refused >= refused + 2)
        assert not Push.objects.filter(sent_at__isnull=False).exists()
        service.status = 201
        wait_until(all_succeeded)
    assert len(service.taken) == len(pushes) == 1
    assert json.loads(browser.open(service.taken[0].body))["id"] == str(pushes[0].notice_id)


@pytest.mark.parametrize("status", [500, 502, 503, 429])
def test_a_service_that_is_down_is_asked_again(
    service: LocalService, world: Round, status: int
) -> None:
    contact = world.contact()
    wants_push(contact)
    subscribe(contact, service, Browser())
    (push,) = booked(world, contact)
    service.status = status
    with pytest.raises(NotPushedError):
        push_notice(push_id=push.id)
    push.refresh_from_db()
    assert push.sent_at is None


@pytest.mark.parametrize("status", [404, 410, 403])
def test_a_device_that_has_gone_is_forgotten_and_its_person_written_to(
    service: LocalService, world: Round, status: int
) -> None:
    contact = world.contact()
    wants_push(contact)
    subscribe(contact, service, Browser())
    (push,) = booked(world, contact)
    service.status = status
    assert not push_notice(push_id=push.id)
    assert not PushDevice.objects.exists()
    (job,) = mails_queued()
    assert job.args["notice_id"] == str(push.notice_id)


def test_while_another_device_is_left_nobody_is_written_to(
    service: LocalService, world: Round
) -> None:
    contact = world.contact()
    wants_push(contact)
    subscribe(contact, service, Browser())
    subscribe(contact, service, Browser(), "/b")
    first, _ = booked(world, contact)
    service.status = 410
    push_notice(push_id=first.id)
    assert push_devices_of(contact).count() == 1
    assert not mails_queued()


def test_whoever_chose_devices_and_has_none_is_written_to(
    service: LocalService, world: Round
) -> None:
    contact = world.contact()
    wants_push(contact)
    assert not booked(world, contact)
    assert len(mails_queued()) == 1


def test_a_notice_that_was_told_already_is_not_pushed_again(
    service: LocalService, world: Round
) -> None:
    contact = world.contact()
    wants_push(contact)
    subscribe(contact, service, Browser())
    booked(world, contact)
    before = Push.objects.count()
    tell_all()
    assert Push.objects.count() == before


def test_a_browser_that_changes_hands_shows_nothing_of_the_former_person(
    service: LocalService, world: Round
) -> None:
    first, second, browser = world.contact(), world.contact(), Browser()
    subscribe(first, service, browser)
    subscribe(second, service, browser)
    assert not push_devices_of(first).exists()
    assert push_devices_of(second).count() == 1


def test_a_device_is_ones_own_to_take_away(service: LocalService, world: Round) -> None:
    contact = world.contact()
    device = subscribe(contact, service, Browser())
    with pytest.raises(NotFound):
        remove_push_device(world.contact(), device_id=device.id)
    remove_push_device(contact, device_id=device.id)
    assert not PushDevice.objects.exists()


def test_a_person_has_ten_devices_at_most(world: Round) -> None:
    contact = world.contact()
    for _ in range(10):
        add_push_device(contact, device_id=new_id(), name="Phone", **subscription())
    with pytest.raises(Conflict, match="10 devices"):
        add_push_device(contact, device_id=new_id(), name="Phone", **subscription())


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("endpoint", "http://push.example/a"),
        ("endpoint", "https://127.0.0.1/a"),
        ("endpoint", "https://169.254.169.254/latest/meta-data/"),
        ("p256dh", "no key"),
        ("p256dh", to_text(b"\x04" + b"\x01" * 64)),  # not on the curve
        ("auth", to_text(b"short")),
        ("auth", "é"),
    ],
)
def test_a_subscription_that_leads_inside_or_has_no_key_is_refused(
    world: Round, field: str, value: str
) -> None:
    with pytest.raises(InvalidInput) as refusal:
        add_push_device(
            world.contact(), device_id=new_id(), name="Phone", **{**subscription(), field: value}
        )
    assert [fault.field for fault in refusal.value.fields] == [field]


def test_a_push_service_whose_name_leads_inside_is_not_called(
    service: LocalService, world: Round, settings: LazySettings
) -> None:
    contact = world.contact()
    wants_push(contact)
    subscribe(contact, service, Browser())
    (push,) = booked(world, contact)
    settings.CALLS_TO_LOOPBACK = False
    with pytest.raises(NotReachedError):
        push_notice(push_id=push.id)
    assert not service.taken


def test_another_place_is_told_nothing(service: LocalService, world: Round) -> None:
    other = acting(
        world.community, Role.CONTACT, OrganisationFactory.create(community=world.community)
    )
    wants_push(other)
    subscribe(other, service, Browser())
    assert not booked(world, other)
    assert (
        tell(
            event="week_ended",
            event_id=new_id(),
            community_id=world.community.id,
            subject_id=world.community.id,
            at=timezone.now(),
        )
        == []
    )
