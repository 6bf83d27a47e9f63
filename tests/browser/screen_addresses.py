"""What fills the `:names` in the addresses of the app's screens, from what a community holds."""

from uuid import UUID

from network.lots.models import Lot
from network.materials.models import Stream
from network.notices.services import make_webhook
from network.people.core.actor import Actor
from network.people.models import Community, Membership, Role, User
from network.people.queries import actor_in
from network.people.services import invite
from network.pickups.models import Proposal, Route
from network.places.models import Agreement, Container, Place
from network.places.services.counters import make_counter
from network.workshop.models import (
    Batch,
    Passport,
    Pressing,
    PriceSheet,
    ProductRun,
    Recipe,
)


def addresses_in(
    community: Community, *, contact: User, maker: User, organiser: User
) -> dict[str, str]:
    """Return each address that has a name to fill, filled with something these people see."""
    slug = community.slug
    chief = actor_in(community=community, user_id=organiser.id)
    place = Place.objects.get(
        organisation__in=Membership.objects.filter(user=contact).values("organisation")
    )
    agreement = Agreement.objects.filter(place=place).earliest("starts_on")
    container = Container.objects.filter(agreement=agreement).first()
    route = Route.objects.filter(community=community, pickups__isnull=False).latest("starts_at")
    assert container is not None
    return {
        "/sign-in/:token": "/sign-in/not-a-token",
        "/join/:token": f"/join/{_invitation(chief)}",
        "/t/:tag": f"/t/{container.tag}",
        "/register/:community": f"/register/{slug}",
        "/bring/:community": f"/bring/{slug}",
        "/counter/:community/:token": f"/counter/{slug}/{_at_the_counter(chief, place)}",
        "/places/:id": f"/places/{place.id}",
        "/places/:id/edit": f"/places/{place.id}/edit",
        "/places/:id/counters": f"/places/{place.id}/counters",
        "/places/:id/streams/new": f"/places/{place.id}/streams/new",
        "/places/:id/visits": f"/places/{place.id}/visits",
        "/places/:id/rules/:agreement": f"/places/{place.id}/rules/{agreement.id}",
        "/organising/places/:id": f"/organising/places/{place.id}",
        "/making/places/:id": f"/making/places/{place.id}",
        "/making/routes/:id": f"/making/routes/{route.id}",
        "/driving/:route": f"/driving/{route.id}",
        "/driving/:route/:pickup": f"/driving/{route.id}/{route.pickups.earliest('position').id}",
        **_of_the_maker(community, maker),
    }


def _of_the_maker(community: Community, maker: User) -> dict[str, str]:
    here = {"community": community}
    organisation = Membership.objects.get(user=maker, community=community).organisation_id
    stream = Stream.objects.filter(maker=organisation).earliest("created_at")
    lot = Lot.objects.filter(maker=organisation, **here).latest("made_at")
    pressing = Pressing.objects.filter(**here).latest("at")
    batch = Batch.objects.filter(**here).latest("made_at")
    proposal = Proposal.objects.filter(**here).latest("created_at")
    return {
        "/making/proposals/:id": f"/making/proposals/{proposal.id}",
        "/making/lots/:id": f"/making/lots/{lot.id}",
        "/making/streams/:id": f"/making/streams/{stream.id}",
        "/making/process/:kind": "/making/process/wash",
        "/making/recipes/:id": f"/making/recipes/{Recipe.objects.latest('created_at').id}",
        "/making/batches/:id": f"/making/batches/{batch.id}",
        "/making/batches/:id/press": f"/making/batches/{batch.id}/press",
        "/making/pressings/:batch/:id": f"/making/pressings/{pressing.batch_id}/{pressing.id}",
        "/making/products/:id": f"/making/products/{ProductRun.objects.latest('made_at').id}",
        "/making/price/:id": f"/making/price/{PriceSheet.objects.latest('created_at').id}",
        "/account/webhooks/:id": f"/account/webhooks/{_webhook(community, maker)}",
        "/passport/:slug": f"/passport/{Passport.objects.latest('published_at').slug}",
    }


def _at_the_counter(chief: Actor, place: Place) -> str:
    return make_counter(chief, place_id=place.id, name="Hall", valid_days=30)[1]


def _webhook(community: Community, maker: User) -> UUID:
    actor = actor_in(community=community, user_id=maker.id)
    return make_webhook(actor, name="Scale", url="https://hooks.example/")[0].id


def _invitation(chief: Actor) -> str:
    return invite(chief, role=Role.CONTACT)[1]
