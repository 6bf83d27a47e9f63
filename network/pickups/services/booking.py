"""A plan becomes routes: vans and containers are taken for it, and places are told a day."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from django.db import transaction

from network.errors import AlreadyBooked, Conflict, WrongState
from network.events import Event, announce
from network.people.core.actor import MAKER, Actor
from network.pickups.models import PickupLine, Proposal, Route, Vehicle
from network.pickups.plan_data import Data, Groundwork, groundwork_from_data
from network.pickups.plan_words import faults_of
from network.pickups.queries import free_containers, proposal_for
from network.pickups.services._shared import moment, refused_by
from network.pickups.services.proposals import require_ready
from network.pickups.services.rebooking import put_in_force
from network.pickups.services.stops import book_route
from network.pickups.services.wishes import refuse_booked
from network.pickups.words import day_text
from network.places.models import Container


class PlanBreaksRules(Conflict):
    """The plan breaks rules, so it cannot be booked: mend its order first."""

    code = "plan_breaks_rules"


@transaction.atomic
def book_proposal(actor: Actor, *, proposal_id: UUID, at: datetime | None = None) -> list[Route]:
    """Book the routes of a ready plan, and return them; booking it again returns the same.

    Locks the proposal, then its vans and then its containers in the order of their ids. Raises
    PlanBreaksRules with the violations, AlreadyBooked with which van or container and when,
    WrongState for a plan that is empty or whose time is past.
    """
    proposal = proposal_for(actor, proposal_id, lock=True)
    actor.require(MAKER, organisation_id=proposal.maker_id)
    if proposal.status == Proposal.Status.BOOKED:
        return list(proposal.routes.order_by("starts_at", "id"))
    require_ready(proposal)
    plan: Data = proposal.plan or {}
    groundwork = groundwork_from_data(proposal.problem or {})
    now = moment(at)
    _refuse_unsound(plan, now)
    if proposal.request.get("rest_of_day"):
        return put_in_force(actor, proposal, groundwork, now=now)
    _lock_vehicles(plan)
    _lock_containers(proposal, plan, groundwork)
    with (
        refused_by("vehicle_booked_once", AlreadyBooked("A van of this plan is booked then.")),
        refused_by("container_booked_once", AlreadyBooked("A container of this plan is booked.")),
    ):
        routes = [book_route(actor, proposal, groundwork, r, now) for r in plan["routes"]]
    proposal.status = Proposal.Status.BOOKED
    proposal.save(update_fields=["status"])
    for route in routes:
        announce(Event.ROUTE_BOOKED, community_id=route.community_id, subject_id=route.id, at=now)
    return routes


def _refuse_unsound(plan: Data, now: datetime) -> None:
    faults = faults_of(plan)
    if faults:
        raise PlanBreaksRules(
            f"The plan cannot be booked: {faults[0]['text']}", extra={"violations": faults}
        )
    if not plan["routes"]:
        raise WrongState("No place is visited in this plan, so there is nothing to book.")
    if any(datetime.fromisoformat(route["ends_at"]) <= now for route in plan["routes"]):
        raise WrongState("The time of this plan is past: ask for a new proposal.")


def _lock_vehicles(plan: Data) -> None:
    """Hold the vans until this is booked; raises AlreadyBooked or WrongState."""
    wanted = {UUID(route["vehicle"]["id"]) for route in plan["routes"]}
    held = (
        Vehicle.objects.select_for_update(of=("self",), no_key=True)
        .select_related("community")
        .filter(id__in=wanted)
        .order_by("id")
    )
    vehicles = {str(vehicle.id): vehicle for vehicle in held}
    for route in plan["routes"]:
        vehicle = vehicles[route["vehicle"]["id"]]
        if vehicle.retired_at is not None:
            raise WrongState(f"{vehicle.name} is no longer in use: ask for a new proposal.")
        refuse_booked(
            vehicle,
            datetime.fromisoformat(route["starts_at"]),
            datetime.fromisoformat(route["ends_at"]),
        )


def _lock_containers(proposal: Proposal, plan: Data, groundwork: Groundwork) -> None:
    """Hold the containers until this is booked; raises AlreadyBooked or WrongState."""
    wanted = {
        UUID(content.container_id)
        for route in plan["routes"]
        for stop in route["stops"]
        for content in groundwork.contents[stop["place"]["id"]]
    }
    held = list(
        Container.objects.select_for_update(no_key=True).filter(id__in=wanted).order_by("id")
    )
    free = set(free_containers(proposal.maker).filter(id__in=wanted).values_list("id", flat=True))
    taken = [container for container in held if container.id not in free]
    if taken:
        _refuse_taken(taken)


def _refuse_taken(containers: Sequence[Container]) -> None:
    lines = PickupLine.objects.filter(
        container__in=containers, outcome=PickupLine.Outcome.OPEN
    ).select_related("container", "pickup__place")
    line = lines.order_by("container__tag").first()
    if line is None:
        tags = ", ".join(container.tag for container in containers)
        raise WrongState(f"No longer to be emptied: {tags}. Ask for a new proposal.")
    day = f" on {day_text(line.pickup.day)}" if line.pickup.day else ""
    raise AlreadyBooked(
        f"Container {line.container.tag} at {line.pickup.place.name} is booked already{day}.",
        extra={"container_id": str(line.container_id), "pickup_id": str(line.pickup_id)},
    )
