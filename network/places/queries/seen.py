"""Which places, agreements, containers, reports and imports an actor may see.

A contact sees the places of its organisations; a maker and its drivers those with an agreement of
any status on one of their streams, and their own workshop; an organiser all of the community.
"""

from uuid import UUID

from django.db.models import Q, QuerySet

from network.people.core.actor import CONTACT, DRIVER, MAKER, Actor
from network.places.models import Agreement, Container, FillReport, Place, PlaceImport
from network.rows import one_of


def places_seen_by(actor: Actor) -> QuerySet[Place]:
    """Return the places an actor may see."""
    here = Place.objects.filter(community_id=actor.community_id)
    here = here.select_related("community", "organisation", "district")
    if actor.is_organiser:
        return here
    theirs = Agreement.objects.filter(
        community_id=actor.community_id, stream__maker_id__in=actor.held_for(DRIVER, MAKER)
    )
    return here.filter(
        Q(organisation_id__in=actor.held_for(CONTACT, DRIVER, MAKER))
        | Q(id__in=theirs.values("place_id"))
    )


def agreements_seen_by(actor: Actor) -> QuerySet[Agreement]:
    """Return the agreements of an actor's own places or streams."""
    here = Agreement.objects.filter(community_id=actor.community_id).select_related(
        "community", "place__organisation", "stream__maker", "rule_version", "main_item"
    )
    if actor.is_organiser:
        return here
    return here.filter(
        Q(place__organisation_id__in=actor.held_for(CONTACT))
        | Q(stream__maker_id__in=actor.held_for(DRIVER, MAKER))
    )


def containers_seen_by(actor: Actor) -> QuerySet[Container]:
    """Return the containers of the agreements an actor may see."""
    seen = agreements_seen_by(actor).select_related(None).values("id")
    here = Container.objects.filter(community_id=actor.community_id, agreement_id__in=seen)
    return here.select_related(
        "community",
        "agreement__place__organisation",
        "agreement__stream__maker",
        "agreement__main_item",
    )


def fill_reports_seen_by(actor: Actor, *, container_id: UUID) -> QuerySet[FillReport]:
    """Return what was said of a container; raises NotFound."""
    container = container_seen_by(actor, container_id)
    return FillReport.objects.filter(community_id=actor.community_id, container=container)


def imports_seen_by(actor: Actor) -> QuerySet[PlaceImport]:
    """Return the spreadsheets of places read so far, for an organiser only."""
    here = PlaceImport.objects.filter(community_id=actor.community_id)
    return here if actor.is_organiser else here.none()


def place_seen_by(actor: Actor, place_id: UUID) -> Place:
    """Return one place; raises NotFound."""
    return one_of(places_seen_by(actor), place_id, "There is no such place here.")


def agreement_seen_by(actor: Actor, agreement_id: UUID) -> Agreement:
    """Return one agreement; raises NotFound."""
    return one_of(agreements_seen_by(actor), agreement_id, "There is no such agreement here.")


def container_seen_by(actor: Actor, container_id: UUID) -> Container:
    """Return one container; raises NotFound."""
    return one_of(containers_seen_by(actor), container_id, "There is no such container here.")


def import_seen_by(actor: Actor, import_id: UUID) -> PlaceImport:
    """Return one import; raises NotFound."""
    return one_of(imports_seen_by(actor), import_id, "There is no such import here.")
