"""The isle after a few weeks, and Tern Rock with nothing in it yet; prints ways in as JSON.

Asked for `addresses`, it prints what fills the `:names` in the addresses of the app's screens.
"""

import json
import sys
from uuid import UUID

import django

django.setup()

from network.demo.scenario import SLUG  # noqa: E402  # models need the settings first
from network.demo.seed import seed_demo  # noqa: E402
from network.demo.visitors import visitors  # noqa: E402
from network.lots.models import Lot  # noqa: E402
from network.materials.models import Stream  # noqa: E402
from network.notices.services import make_webhook  # noqa: E402
from network.people.core.actor import Actor  # noqa: E402
from network.people.models import Community, Membership, Role, User  # noqa: E402
from network.people.queries import actor_in  # noqa: E402
from network.people.services import invite, sign_in_link_token  # noqa: E402
from network.pickups.models import Proposal, Route  # noqa: E402
from network.places.models import Agreement, Container, Place  # noqa: E402
from network.places.services.counters import make_counter  # noqa: E402
from network.workshop.models import (  # noqa: E402
    Batch,
    Passport,
    Pressing,
    PriceSheet,
    ProductRun,
    Recipe,
)
from tests.browser.world import found  # noqa: E402

WEEKS = 3


def ways_in() -> dict[str, str]:
    """Seed both communities; return the token by which each person signs in, once."""
    seed_demo(progress=lambda words: print(words, file=sys.stderr), weeks=WEEKS)  # noqa: T201
    rock = found()
    contact, maker, organiser = (user for user, _ in visitors())
    organisation = Membership.objects.get(user=maker).organisation
    driver = Membership.objects.get(organisation=organisation, role=Role.DRIVER).user
    people = {"contact": contact, "driver": driver, "maker": maker, "organiser": organiser}
    bare = {f"bare {who}": user for who, user in rock.people.items()}
    return {who: sign_in_link_token(user) for who, user in {**people, **bare}.items()}


def addresses() -> dict[str, str]:
    """Return each address that has a name to fill, filled with something of the isle."""
    of_isle = {"community__slug": SLUG}
    contact, maker, organiser = (user for user, _ in visitors())
    place = Place.objects.get(
        organisation__in=Membership.objects.filter(user=contact).values("organisation")
    )
    agreement = Agreement.objects.filter(place=place).earliest("starts_on")
    container = Container.objects.filter(agreement=agreement).first()
    route = Route.objects.filter(**of_isle, pickups__isnull=False).latest("starts_at")
    assert container is not None
    return {
        "/sign-in/:token": "/sign-in/not-a-token",
        "/join/:token": f"/join/{_invitation(_chief(organiser))}",
        "/t/:tag": f"/t/{container.tag}",
        "/register/:community": f"/register/{SLUG}",
        "/bring/:community": f"/bring/{SLUG}",
        "/counter/:community/:token": f"/counter/{SLUG}/{_at_the_counter(organiser, place)}",
        "/places/:id": f"/places/{place.id}",
        "/places/:id/edit": f"/places/{place.id}/edit",
        "/places/:id/counters": f"/places/{place.id}/counters",
        "/places/:id/visits": f"/places/{place.id}/visits",
        "/places/:id/rules/:agreement": f"/places/{place.id}/rules/{agreement.id}",
        "/organising/places/:id": f"/organising/places/{place.id}",
        "/making/places/:id": f"/making/places/{place.id}",
        "/making/routes/:id": f"/making/routes/{route.id}",
        "/driving/:route": f"/driving/{route.id}",
        "/driving/:route/:pickup": f"/driving/{route.id}/{route.pickups.earliest('position').id}",
        **_of_the_maker(maker),
    }


def _of_the_maker(maker: User) -> dict[str, str]:
    of_isle = {"community__slug": SLUG}
    organisation = Membership.objects.get(user=maker).organisation_id
    stream = Stream.objects.filter(maker=organisation).earliest("created_at")
    pressing = Pressing.objects.filter(**of_isle).latest("at")
    batch = Batch.objects.filter(**of_isle).latest("made_at")
    return {
        "/making/proposals/:id": f"/making/proposals/{Proposal.objects.latest('created_at').id}",
        "/making/lots/:id": f"/making/lots/{Lot.objects.filter(**of_isle).latest('made_at').id}",
        "/making/streams/:id": f"/making/streams/{stream.id}",
        "/making/process/:kind": "/making/process/wash",
        "/making/recipes/:id": f"/making/recipes/{Recipe.objects.latest('created_at').id}",
        "/making/batches/:id": f"/making/batches/{batch.id}",
        "/making/batches/:id/press": f"/making/batches/{batch.id}/press",
        "/making/pressings/:batch/:id": f"/making/pressings/{pressing.batch_id}/{pressing.id}",
        "/making/products/:id": f"/making/products/{ProductRun.objects.latest('made_at').id}",
        "/making/price/:id": f"/making/price/{PriceSheet.objects.latest('created_at').id}",
        "/account/webhooks/:id": f"/account/webhooks/{_webhook(maker)}",
        "/passport/:slug": f"/passport/{Passport.objects.latest('published_at').slug}",
    }


def _chief(organiser: User) -> Actor:
    return actor_in(community=Community.objects.get(slug=SLUG), user_id=organiser.id)


def _at_the_counter(organiser: User, place: Place) -> str:
    return make_counter(_chief(organiser), place_id=place.id, name="Hall", valid_days=30)[1]


def _webhook(maker: User) -> UUID:
    actor = actor_in(community=Community.objects.get(slug=SLUG), user_id=maker.id)
    return make_webhook(actor, name="Scale", url="https://hooks.example/")[0].id


def _invitation(chief: Actor) -> str:
    return invite(chief, role=Role.CONTACT)[1]


if __name__ == "__main__":
    told = addresses() if sys.argv[1:] == ["addresses"] else ways_in()
    print(json.dumps(told))  # noqa: T201  # read by the test
