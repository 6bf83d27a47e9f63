"""A stop of a plan becomes a visit, with the containers that it would empty."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from network.people.core.actor import Actor
from network.pickups.models import Pickup, PickupLine, Proposal, Route
from network.pickups.plan_data import Content, Data, Groundwork


def book_route(
    actor: Actor, proposal: Proposal, groundwork: Groundwork, plan: Data, now: datetime
) -> Route:
    """Make a route of a plan's, with its visits and what they would empty."""
    route = Route.objects.create(
        community_id=actor.community_id,
        maker_id=proposal.maker_id,
        vehicle_id=UUID(plan["vehicle"]["id"]),
        proposal=proposal,
        day=datetime.fromisoformat(plan["day"]).date(),
        starts_at=datetime.fromisoformat(plan["starts_at"]),
        ends_at=datetime.fromisoformat(plan["ends_at"]),
        status=Route.Status.PLANNED,
        planned_distance_m=plan["distance_m"],
        planned_duration_s=plan["duration_s"],
        planned_mass_g=plan["mass_g"],
        planned_volume_ml=plan["volume_ml"],
        planned_cost=Decimal(plan["cost"]),
        created_at=now,
        created_by_id=actor.user_id,
    )
    asked = asked_pickups(route, [UUID(stop["place"]["id"]) for stop in plan["stops"]])
    day_index = (route.day - groundwork.first_day).days
    for position, stop in enumerate(plan["stops"]):
        pickup = plan_pickup(route, position, stop, asked, groundwork)
        contents = groundwork.contents[stop["place"]["id"]]
        add_lines(pickup, contents, day_index)
    return route


def asked_pickups(route: Route, place_ids: Iterable[UUID]) -> Mapping[UUID, Pickup]:
    """Return what was asked for at some places, by place, locked."""
    asked = (
        Pickup.objects.select_for_update(no_key=True)
        .filter(
            community_id=route.community_id,
            maker_id=route.maker_id,
            place_id__in=place_ids,
            status=Pickup.Status.ASKED,
        )
        .order_by("id")
    )
    return {pickup.place_id: pickup for pickup in asked}


def plan_pickup(
    route: Route,
    position: int,
    stop: Data,
    asked: Mapping[UUID, Pickup],
    groundwork: Groundwork,
) -> Pickup:
    """What was asked for becomes planned; where nobody asked, the visit is new."""
    place_id = UUID(stop["place"]["id"])
    pickup = asked.get(place_id) or Pickup(
        community_id=route.community_id,
        maker_id=route.maker_id,
        place_id=place_id,
        created_at=route.created_at,
    )
    pickup.status = Pickup.Status.PLANNED
    pickup.route = route
    pickup.day = route.day
    time_pickup(pickup, position, stop, groundwork)
    pickup.save()
    return pickup


def time_pickup(pickup: Pickup, position: int, stop: Data, groundwork: Groundwork) -> None:
    """Set where in its route and when a visit is, and why, as planned; nothing is saved."""
    pickup.position = position
    pickup.planned_arrival = datetime.fromisoformat(stop["arrival"])
    pickup.planned_departure = datetime.fromisoformat(stop["departure"])
    pickup.why = stop["why"]
    if groundwork.distances:
        correction = Decimal(groundwork.distances["correction"])
        pickup.leg_s = round(stop["leg_duration_s"] / correction)
        pickup.leg_by = groundwork.distances["by"]


# What `time_pickup` sets.
TIMED = ("position", "planned_arrival", "planned_departure", "why", "leg_s", "leg_by")


def add_lines(pickup: Pickup, contents: Iterable[Content], day: int) -> None:
    """Take the containers of a place for a visit."""
    PickupLine.objects.bulk_create(
        PickupLine(
            community_id=pickup.community_id,
            pickup=pickup,
            container_id=UUID(content.container_id),
            expected_mass_g=content.expected[day][0],
            expected_volume_ml=content.expected[day][1],
        )
        for content in contents
        if day in content.expected
    )
