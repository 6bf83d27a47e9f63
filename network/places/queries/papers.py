"""What is printed for a place: its rules cards and its containers' labels."""

from uuid import UUID

from network.errors import NotFound
from network.materials import catalogue
from network.materials.queries import rules_of
from network.people.core.actor import Actor
from network.people.models import Membership, Role
from network.places.core.rules_words import Line, rules_in_words
from network.places.models import Agreement, Container, Place
from network.places.papers import Card, Label, Unwanted, cards_pdf, labels_pdf
from network.places.queries.seen import agreements_seen_by, containers_seen_by, place_seen_by
from network.units import ML_PER_L

_NAMES_AN_ITEM = {"item", "any_item"}


def card_pdf(actor: Actor, place_id: UUID) -> bytes:
    """Return the rules cards of a place, one page a stream; raises NotFound without any."""
    place = place_seen_by(actor, place_id)
    agreements = _standing(actor, place)
    if not agreements:
        raise NotFound("This place has not agreed a stream yet, so there is no card to print.")
    organiser = _organiser_name(place.community_id)
    return cards_pdf([_card(place, agreement, organiser) for agreement in agreements])


def labels_pdf_for(actor: Actor, place_id: UUID, *, origin: str) -> bytes:
    """Return labels for a place's containers; `origin` starts the address in each code.

    Raises NotFound where there are none.
    """
    place = place_seen_by(actor, place_id)
    containers = list(
        containers_seen_by(actor)
        .filter(agreement__in=_standing(actor, place), retired_at=None)
        .order_by("tag")
    )
    if not containers:
        raise NotFound("This place has no containers yet, so there are no labels to print.")
    return labels_pdf([_label(container, place, origin) for container in containers])


def _standing(actor: Actor, place: Place) -> list[Agreement]:
    agreements = agreements_seen_by(actor).filter(place=place)
    return list(agreements.exclude(status=Agreement.Status.ENDED).order_by("stream__name", "id"))


def _organiser_name(community_id: UUID) -> str:
    """The name of the longest-serving organiser; an address would be more than a wall needs."""
    organisers = Membership.objects.filter(community_id=community_id, role=Role.ORGANISER)
    named = organisers.exclude(user__name="").select_related("user").order_by("created_at", "id")
    first = named.first()
    return first.user.name if first else "the organiser"


def _card(place: Place, agreement: Agreement, organiser: str) -> Card:
    rules = rules_of(agreement.rule_version)
    words = rules_in_words(rules, resins=catalogue.resins(), items=catalogue.items())
    return Card(
        place=place.name,
        stream=agreement.stream.name,
        summary=agreement.stream.summary,
        maker=agreement.stream.maker.name,
        community=place.community.name,
        organiser=organiser,
        rules_number=agreement.rule_version.number,
        keep=[line.text for line in words.keep if line.code in _NAMES_AN_ITEM],
        look=[line.text for line in words.keep if line.code not in _NAMES_AN_ITEM],
        ready=[line.text for line in words.ready],
        never=[_unwanted(line) for line in words.never],
        notes=rules.notes,
    )


def _unwanted(line: Line) -> Unwanted:
    return Unwanted(name=line.params["name"], advice=line.params["advice"])


def _label(container: Container, place: Place, origin: str) -> Label:
    litres = f"{container.volume_ml / ML_PER_L:g} litres"
    return Label(
        tag=container.tag,
        stream=container.agreement.stream.name,
        place=place.name,
        container=f"{container.get_kind_display().capitalize()}, {litres}",
        address=f"{origin}/#/t/{container.tag}",
    )
