"""A booked route of three stops, and a place no route goes to; prints whose they are as JSON.

Run as a program of its own, so that the browser's event loop and Django's models never meet.
"""

import json

import django

django.setup()

from network.people.core.actor import Actor  # noqa: E402  # models need the settings first
from network.people.models import User  # noqa: E402
from tests.services.pickups_story import make_round  # noqa: E402


def email_of(actor: Actor) -> str:
    assert actor.user_id is not None
    return User.objects.get(id=actor.user_id).email


def main() -> None:
    """Make the places, the van and the plan, and say by which addresses its people sign in."""
    world = make_round(places=3)
    route = world.booked()
    # One more, which nobody is on the way to.
    waiting = world.add_place(percent=20)
    told = {
        "community": world.community.slug,
        "route": str(route.id),
        "pickups": [str(pickup.id) for pickup in route.pickups.order_by("position")],
        "driver": email_of(world.driver),
        "maker": email_of(world.maker_actor),
        "contact": email_of(world.contact(-1)),
        "place": str(waiting.id),
    }
    print(json.dumps(told))  # noqa: T201  # read by the test


main()
