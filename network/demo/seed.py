"""Fills an empty database with the invented scenario, all or nothing, from one seed."""

from collections.abc import Callable
from datetime import datetime, timedelta
from random import Random

from django.db import transaction
from django.utils import timezone

from network.demo import scenario
from network.demo.founding import Isle, found_isle
from network.demo.making import make_things
from network.demo.world import World
from network.demo.year import live_through, moment, plan_round, say_levels
from network.ids import new_id
from network.people.models import Community
from network.people.queries import actor_in
from network.people.services import add_person
from network.pickups.services import ask_for_pickup
from network.places.services import (
    AgreementInput,
    ContainersInput,
    NewOrganisation,
    PlaceInput,
    register_place,
)

SEED = 1
WEEKS = 52
NEXT_ROUND_ITERATIONS = 1_000
ASKING = 3


@transaction.atomic
def seed_demo(*, progress: Callable[[str], None], weeks: int = WEEKS) -> None:
    """Seed the scenario with so many weeks up to now, unless it is there.

    `progress` is told each step in words.
    """
    if Community.objects.filter(slug=scenario.SLUG).exists():
        progress("Tamsin Isle is there already: its data is kept")
        return
    now = timezone.now()
    this_monday = now.date() - timedelta(days=now.weekday())
    first_monday = this_monday - timedelta(weeks=weeks)
    progress("Founding the community, its two makers and thirty-eight places")
    isle = found_isle(moment(first_monday - timedelta(days=3), 9))
    world = World(isle=isle, dice=Random(SEED))
    world.open(first_monday)
    live_through(world, first_monday=first_monday, weeks=weeks, until=now.date(), progress=progress)
    progress("Washing, sorting and pressing some of the caps")
    make_things(isle.makers[scenario.YARD])
    progress("Asking, planning and joining as of today")
    _bring_to_today(world, now)


def _bring_to_today(world: World, now: datetime) -> None:
    """Leave something to do for each of the three people."""
    say_levels(world, now - timedelta(hours=2), share=0.8)
    yard = world.isle.makers[scenario.YARD]
    next_day = now.date() + timedelta(days=1)
    routes = plan_round(world, yard, next_day, at=now, iterations=NEXT_ROUND_ITERATIONS)
    visited = {
        place_id for route in routes for place_id in route.pickups.values_list("place", flat=True)
    }
    waiting = [source for source in world.isle.sources if source.place.id not in visited]
    for source in waiting[-ASKING:]:
        ask_for_pickup(
            source.contact,
            pickup_id=new_id(),
            place_id=source.place.id,
            note="It is getting full.",
            at=now - timedelta(hours=1),
        )
    _ask_to_join(world.isle, now)


def _ask_to_join(isle: Isle, now: datetime) -> None:
    """A school has registered itself and waits for the organiser."""
    newcomer = add_person(email="office@ness.example", name="Office at Ness House School")
    caps = isle.makers[scenario.YARD].organisation.streams.get(name="Bottle caps")
    register_place(
        actor_in(community=isle.community, user_id=newcomer.id),
        organisation=NewOrganisation(name="Ness House School", kind="school"),
        place=PlaceInput(
            name="Ness House School",
            kind="school",
            address="1 Ness Lane, Port Sorrel",
            longitude=-31.3253,
            latitude=44.6198,
            access_notes=scenario.access_notes_of("school"),
            windows=scenario.windows_of("school"),
        ),
        agreement=AgreementInput(
            stream_id=caps.id,
            main_item="bottle-cap",
            starts_on=now.date(),
            containers=[ContainersInput(kind="bag", volume_ml=60_000, tare_g=150)],
        ),
        at=now - timedelta(days=1),
    )
