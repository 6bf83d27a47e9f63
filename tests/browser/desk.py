"""A desk beside a running server: books routes, makes ways in, reads the ledger, as it is asked.

A program of its own, so that the browser's event loop and Django's models never meet, and one that
stays, so that a hundred walks need not each wait for it to start. It reads one question a line
from standard input, as JSON, and answers with one line.
"""

import json
import sys
from collections import Counter
from collections.abc import Callable
from typing import Any

import django

django.setup()

from network.lots.models import Movement  # noqa: E402  # models need the settings first
from network.people.core.actor import Actor  # noqa: E402
from network.people.models import User  # noqa: E402
from network.people.services import sign_in_link_token  # noqa: E402
from network.pickups.models import Pickup, PickupLine, Route  # noqa: E402
from tests.services.pickups_story import make_round  # noqa: E402


def book(places: int) -> dict[str, Any]:
    """Book a route in a community of its own, and one place that no route goes to."""
    world = make_round(places=places)
    route = world.booked()
    waiting = world.add_place(percent=20)
    return {
        "community": world.community.slug,
        "route": str(route.id),
        "pickups": [str(pickup.id) for pickup in route.pickups.order_by("position")],
        "tags": [container.tag for container in world.containers],
        "driver": _email_of(world.driver),
        "maker": _email_of(world.maker_actor),
        "contact": _email_of(world.contact(-1)),
        "first_contact": _email_of(world.contact(0)),
        "place": str(waiting.id),
    }


def token(email: str) -> str:
    """Make a token that signs somebody in, once."""
    return sign_in_link_token(User.objects.get(email=email))


def told(route: str) -> dict[str, Any]:
    """What the server knows of a route in the end, each thing counted."""
    found = Route.objects.get(id=route)
    moved = Movement.objects.filter(community_id=found.community_id)
    lines = PickupLine.objects.filter(pickup__route=found)
    return {
        "status": found.status,
        "visits": Counter(Pickup.objects.filter(route=found).values_list("status", flat=True)),
        "lines": Counter(lines.values_list("outcome", flat=True)),
        "collected_g": sorted(
            moved.filter(reason=Movement.Reason.COLLECTED).values_list("mass_g", flat=True)
        ),
    }


def _email_of(actor: Actor) -> str:
    assert actor.user_id is not None
    return User.objects.get(id=actor.user_id).email


ANSWERS: dict[str, Callable[..., Any]] = {"book": book, "token": token, "told": told}


def main() -> None:
    """Answer until nobody asks any more."""
    for line in sys.stdin:
        what, argument = json.loads(line)
        print(json.dumps(ANSWERS[what](argument)), flush=True)  # noqa: T201  # read by the test


main()
