"""What one receiver is slow to take delays nothing that goes to others."""

from collections.abc import Iterator

import pytest
from django.conf import LazySettings
from django.utils import timezone
from procrastinate.contrib.django.models import ProcrastinateJob

from network.ids import new_id
from network.notices.services import make_webhook, try_webhook
from network.notices.services.mailing import queue_mail
from tests.push_services import LocalService
from tests.services.pickups_story import make_round
from tests.services.test_notices_mail import Server, a_notice, server, wait_until
from tests.workers import running_worker

__all__ = ["server"]  # the fixture
pytestmark = pytest.mark.django_db(transaction=True)
# A worker as `millrace worker` runs it, with the patience to wait until it is killed.
WORKER = """
import django
django.setup()
from network import outbound
from api.server import worker
outbound._ANSWER_S_MAX = 600.0
worker.work()
"""


@pytest.fixture
def silent_machine(settings: LazySettings) -> Iterator[LocalService]:
    """A machine that takes the call and never answers."""
    settings.CALLS_TO_LOOPBACK = True
    service = LocalService()
    service.is_silent.set()
    with service.running() as running:
        yield running
        service.is_silent.clear()


def test_a_webhook_that_hangs_delays_no_mail(server: Server, silent_machine: LocalService) -> None:
    world = make_round(places=1)
    webhook, _ = make_webhook(world.maker_actor, name="Scale", url=f"{silent_machine.url}/hook")
    try_webhook(world.maker_actor, webhook_id=webhook.id, delivery_id=new_id())
    environment = {**server.environment, "MILLRACE_CALLS_TO_LOOPBACK": "1"}
    with running_worker(WORKER, **environment) as worker:
        wait_until(silent_machine.is_called.is_set)
        queue_mail(a_notice().id, due_at=timezone.now())
        wait_until(lambda: len(server.taken) == 1)
        hanging = ProcrastinateJob.objects.get(queue_name="webhooks")
        assert (hanging.status, silent_machine.taken) == ("doing", [])
        worker.kill()
