"""Machines are told what happens, over HTTP on loopback, and check who tells them."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
from django.conf import LazySettings
from django.db import connection
from standardwebhooks.webhooks import Webhook as Verifier
from standardwebhooks.webhooks import WebhookVerificationError

from network.errors import Conflict, InvalidInput, NotAllowed, NotFound, WrongState
from network.ids import new_id
from network.lots.services import seal_period
from network.notices.core.signing import signature
from network.notices.models import Notice, Webhook, WebhookDelivery
from network.notices.queries import deliveries_of, webhooks_seen_by
from network.notices.services import deliver, make_webhook, stop_webhook, try_webhook
from network.notices.services.delivering import NotDeliveredError
from network.people.models import Membership, Role
from tests.factories import MakerFactory, acting
from tests.push_services import LocalService, Taken
from tests.services.notices_story import mails_queued, stop_clock, tell_all
from tests.services.pickups_story import MONDAY, SUNDAY_EVENING, Round, make_round
from tests.services.test_notices_mail import WORKER, all_succeeded, wait_until
from tests.workers import empty_the_queue, running_worker

pytestmark = pytest.mark.django_db(transaction=True)
DAYS_AFTER = datetime(2026, 3, 5, 9, tzinfo=UTC)


@pytest.fixture
def service(settings: LazySettings) -> Iterator[LocalService]:
    empty_the_queue()
    settings.CALLS_TO_LOOPBACK = True
    with LocalService().running() as running:
        yield running


@pytest.fixture
def world() -> Round:
    return make_round(places=2)


def hooked(world: Round, service: LocalService) -> tuple[Webhook, str]:
    return make_webhook(world.maker_actor, name="Scale", url=f"{service.url}/hook")


def told(world: Round, monkeypatch: pytest.MonkeyPatch) -> list[WebhookDelivery]:
    """Let a route be booked on Sunday evening, and return what is queued of it."""
    with monkeypatch.context() as then:
        stop_clock(then, SUNDAY_EVENING)
        world.booked()
        tell_all()
    return list(WebhookDelivery.objects.order_by("id"))


def opened(taken: Taken, secret: str) -> dict[str, object]:
    """Read a message as a machine does that uses the specification's own library."""
    headers = {name.lower(): value for name, value in taken.headers.items()}
    content: dict[str, object] = Verifier(secret).verify(taken.body, headers)
    return content


def test_a_signature_is_the_one_of_the_specifications_libraries() -> None:
    """The test vector that the libraries of the Standard Webhooks specification share."""
    signed = signature(
        "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw",
        message_id="msg_p5jXN8AQM9LWM0D4loKWxJek",
        timestamp_s=1614265330,
        payload=b'{"test": 2432232314}',
    )
    assert signed == "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="


def test_a_machine_is_told_of_each_visit_once_and_can_check_it(
    service: LocalService, world: Round, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, secret = hooked(world, service)
    deliveries = told(world, monkeypatch)
    with monkeypatch.context() as then:
        stop_clock(then, SUNDAY_EVENING)
        tell_all()  # a job that is begun again queues nothing more
    assert WebhookDelivery.objects.count() == len(deliveries) == 2
    for delivery in [*deliveries, *deliveries]:
        deliver(delivery_id=delivery.id)
    contents = [opened(taken, secret) for taken in service.taken]
    assert {content["type"] for content in contents} == {"pickup.booked"}
    assert [taken.headers["webhook-id"] for taken in service.taken] == [
        str(delivery.id) for delivery in deliveries
    ]
    assert contents[0]["timestamp"] == SUNDAY_EVENING.isoformat()
    assert contents[0]["data"] == {
        "community": world.community.slug,
        "id": str(deliveries[0].subject_id),
    }


def test_a_message_that_was_changed_or_signed_by_another_is_noticed(
    service: LocalService, world: Round, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, secret = hooked(world, service)
    _, others = hooked(world, service)
    for delivery in told(world, monkeypatch):
        if delivery.webhook.name == "Scale":
            deliver(delivery_id=delivery.id)
    taken = service.taken[0]
    changed = Taken(path="", headers=taken.headers, body=taken.body.replace(b"booked", b"moved"))
    for message, key in ((changed, secret), (taken, others)):
        with pytest.raises(WebhookVerificationError):
            opened(message, key)


def test_each_message_arrives_once_after_the_machine_failed_for_a_while(
    service: LocalService, world: Round, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, secret = hooked(world, service)
    deliveries = told(world, monkeypatch)
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM procrastinate_jobs WHERE queue_name <> 'webhooks'")
    service.status = 500
    with running_worker(WORKER, MILLRACE_CALLS_TO_LOOPBACK="1"):
        wait_until(lambda: service.refused >= 4)
        service.status = 200
        wait_until(all_succeeded)
    ids = [taken.headers["webhook-id"] for taken in service.taken]
    assert sorted(ids) == sorted(str(delivery.id) for delivery in deliveries)
    assert all(opened(taken, secret) for taken in service.taken)
    for delivery in WebhookDelivery.objects.all():
        assert (delivery.delivered_at is not None, delivery.last_status) == (True, 200)
    assert Webhook.objects.get().failing_since is None


def test_a_try_that_failed_is_in_the_log(service: LocalService, world: Round) -> None:
    webhook, _ = hooked(world, service)
    delivery = try_webhook(world.maker_actor, webhook_id=webhook.id, delivery_id=new_id())
    service.status = 503
    for _ in range(2):
        with pytest.raises(NotDeliveredError):
            deliver(delivery_id=delivery.id)
    logged = deliveries_of(world.maker_actor, webhook.id).get()
    assert (logged.type, logged.tries, logged.last_status) == ("test", 2, 503)
    assert logged.delivered_at is None
    webhook.url = "http://127.0.0.1:9/"  # nobody listens there
    webhook.save()
    with pytest.raises(NotDeliveredError):
        deliver(delivery_id=delivery.id)
    logged.refresh_from_db()
    assert (logged.tries, logged.last_status) == (3, None)
    assert logged.last_fault == "Connection refused"


def test_a_machine_that_fails_for_three_days_is_turned_off_and_its_owner_told_once(
    service: LocalService, world: Round, monkeypatch: pytest.MonkeyPatch
) -> None:
    webhook, _ = hooked(world, service)
    first, second = (
        try_webhook(world.maker_actor, webhook_id=webhook.id, delivery_id=new_id())
        for _ in range(2)
    )
    service.status = 500
    start = DAYS_AFTER
    for since in (timedelta(0), timedelta(days=2, hours=23)):
        stop_clock(monkeypatch, start + since)
        with pytest.raises(NotDeliveredError):
            deliver(delivery_id=first.id)
    stop_clock(monkeypatch, start + timedelta(days=3))
    for delivery in (first, second, first):
        deliver(delivery_id=delivery.id)
    assert service.refused == 3, "What is turned off is not called."
    webhook.refresh_from_db()
    assert webhook.disabled_at == start + timedelta(days=3)
    notice = Notice.objects.get(kind=Notice.Kind.WEBHOOK_DISABLED)
    assert notice.user_id == world.maker_actor.user_id
    assert "Scale" in notice.title
    assert len(mails_queued()) == 1
    with pytest.raises(WrongState):
        try_webhook(world.maker_actor, webhook_id=webhook.id, delivery_id=new_id())


def test_a_machine_that_wants_no_more_is_turned_off_at_once(
    service: LocalService, world: Round
) -> None:
    webhook, _ = hooked(world, service)
    delivery = try_webhook(world.maker_actor, webhook_id=webhook.id, delivery_id=new_id())
    service.status = 410
    deliver(delivery_id=delivery.id)
    webhook.refresh_from_db()
    assert webhook.disabled_at is not None


def test_a_stopped_webhook_is_told_nothing_not_even_what_was_queued(
    service: LocalService, world: Round
) -> None:
    webhook, _ = hooked(world, service)
    delivery = try_webhook(world.maker_actor, webhook_id=webhook.id, delivery_id=new_id())
    stop_webhook(world.maker_actor, webhook_id=webhook.id)
    deliver(delivery_id=delivery.id)
    assert not service.taken
    assert not webhooks_seen_by(world.maker_actor).exists()


def test_a_maker_hears_of_its_own_and_an_organiser_of_all(
    service: LocalService, world: Round, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = acting(world.community, Role.MAKER, MakerFactory.create(community=world.community))
    organiser = acting(world.community, Role.ORGANISER)
    for actor in (other, organiser):
        make_webhook(actor, name="Machine", url=f"{service.url}/hook")
    deliveries = told(world, monkeypatch)
    assert {delivery.webhook.owner_id for delivery in deliveries} == {organiser.user_id}


def test_what_the_owner_may_no_longer_see_the_machine_is_not_told(
    service: LocalService, world: Round, monkeypatch: pytest.MonkeyPatch
) -> None:
    hooked(world, service)
    assert world.maker_actor.user_id is not None
    Membership.objects.filter(user_id=world.maker_actor.user_id).delete()
    assert not told(world, monkeypatch)


def test_an_organisers_machine_hears_that_a_period_is_closed(
    service: LocalService, world: Round
) -> None:
    organiser = acting(world.community, Role.ORGANISER)
    make_webhook(organiser, name="Council", url=f"{service.url}/hook")
    hooked(world, service)
    seal_id = new_id()
    seal_period(organiser, seal_id=seal_id, last_day=MONDAY)
    tell_all()
    delivery = WebhookDelivery.objects.get()
    assert (delivery.type, delivery.subject_id) == ("period.sealed", seal_id)


def test_webhooks_are_of_ones_own_and_an_organiser_may_stop_any(
    service: LocalService, world: Round
) -> None:
    webhook, _ = hooked(world, service)
    other = acting(world.community, Role.MAKER, MakerFactory.create(community=world.community))
    for attempt in (
        lambda: stop_webhook(other, webhook_id=webhook.id),
        lambda: deliveries_of(other, webhook.id),
    ):
        with pytest.raises(NotFound):
            attempt()
    with pytest.raises(NotAllowed):
        make_webhook(world.contact(), name="Mine", url=f"{service.url}/hook")
    stop_webhook(acting(world.community, Role.ORGANISER), webhook_id=webhook.id)


@pytest.mark.parametrize(
    "url",
    ["http://hooks.example/", "https://10.0.0.1/", "https://169.254.169.254/", "hooks.example"],
)
def test_a_webhook_leads_to_a_public_address_over_tls(world: Round, url: str) -> None:
    with pytest.raises(InvalidInput) as refusal:
        make_webhook(world.maker_actor, name="Scale", url=url)
    assert [fault.field for fault in refusal.value.fields] == ["url"]


def test_a_person_has_ten_webhooks_at_most(world: Round) -> None:
    for _ in range(10):
        make_webhook(world.maker_actor, name="Scale", url="https://hooks.example/")
    with pytest.raises(Conflict, match="10 webhooks"):
        make_webhook(world.maker_actor, name="Scale", url="https://hooks.example/")
