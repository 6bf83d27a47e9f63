"""A maker with a van, its workshop, and places a few hundred metres apart: pickups in small.

        W ---- A ---- B ---- C        (west to east, about 390 m from each to the next)

The community's clock is Europe/London and the week is one in winter, so it shows UTC.
"""

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from time import sleep
from typing import Any
from uuid import UUID

from network.ids import new_id
from network.lots.models import Scale
from network.lots.services import Reading
from network.people.core.actor import Actor
from network.people.models import Community, Organisation, Role
from network.pickups import services
from network.pickups.models import Pickup, PickupLine, Proposal, Question, Route, Vehicle
from network.pickups.request_data import PlanRequest, ShiftWish
from network.places.models import Agreement, Container, FillReport, Place
from tests.factories import (
    AccessWindowFactory,
    AgreementFactory,
    CommunityFactory,
    ContainerFactory,
    MakerFactory,
    PlaceFactory,
    RuleVersionFactory,
    ScaleFactory,
    StreamFactory,
    VehicleFactory,
    WorkshopFactory,
    acting,
)

MONDAY = date(2026, 3, 2)
SUNDAY_EVENING = datetime(2026, 3, 1, 20, tzinfo=UTC)
CLEAN = {"resins": ["PE-HD"], "items": ["bottle-cap"], "met": ["rinsed", "dry"]}
UNRINSED = {"resins": ["PE-HD"], "items": ["bottle-cap"], "unmet": ["rinsed"]}


def on_monday(hour: int, minute: int = 0) -> datetime:
    return datetime(2026, 3, 2, hour, minute, tzinfo=UTC)


@dataclass(kw_only=True)
class Round:
    """The people, the van and the places, with shorthands for what most tests begin with."""

    community: Community
    maker: Organisation
    agreements: list[Agreement] = field(default_factory=list)
    containers: list[Container] = field(default_factory=list)
    vehicle: Vehicle
    scale: Scale
    maker_actor: Actor
    driver: Actor

    @property
    def places(self) -> list[Place]:
        return [agreement.place for agreement in self.agreements]

    def contact(self, index: int = 0) -> Actor:
        return acting(self.community, Role.CONTACT, self.places[index].organisation)

    def ask(self, index: int = 0, **changes: Any) -> Pickup:
        """Let a place ask for a visit on Sunday evening."""
        arguments: dict[str, Any] = {
            "pickup_id": new_id(),
            "place_id": self.places[index].id,
            "note": "All bags are full.",
            "at": SUNDAY_EVENING,
        }
        return services.ask_for_pickup(self.contact(index), **{**arguments, **changes})

    def add_place(self, *, percent: int = 90, **changes: Any) -> Place:
        """Add a place that is open all Monday, with one bag that is so full."""
        place = PlaceFactory.create(
            community=self.community,
            longitude=-30.0 + 0.005 * (len(self.agreements) + 1),
            **changes,
        )
        AccessWindowFactory.create(place=place)
        rules = RuleVersionFactory.create(
            community=self.community,
            stream=StreamFactory.create(community=self.community, maker=self.maker),
        )
        agreement = AgreementFactory.create(
            community=self.community, place=place, rule_version=rules
        )
        self.agreements.append(agreement)
        container = ContainerFactory.create(agreement=agreement)
        self.containers.append(container)
        say_level(container, percent)
        return place

    def wish(self, **changes: Any) -> PlanRequest:
        shift = {
            "vehicle_id": self.vehicle.id,
            "day": MONDAY,
            "starts": time(8),
            "ends": time(12),
        }
        return PlanRequest(shifts=(ShiftWish(**{**shift, **changes}),))

    def proposal(self, request: PlanRequest | None = None, **changes: Any) -> Proposal:
        """Return a proposal that has been worked out."""
        proposal = services.request_proposal(
            self.maker_actor,
            proposal_id=new_id(),
            request=request or self.wish(**changes),
            at=SUNDAY_EVENING,
        )
        services.solve_proposal(proposal_id=proposal.id)
        proposal.refresh_from_db()
        while proposal.status in {Proposal.Status.QUEUED, Proposal.Status.WORKING}:
            # The worker of a server that runs beside us was quicker.
            sleep(0.05)
            proposal.refresh_from_db()
        return proposal

    def booked(self) -> Route:
        """Return the one route of a proposal that visits all places in order."""
        proposal = self.proposal()
        order = [place.id for place in self.places]
        services.change_proposal(self.maker_actor, proposal_id=proposal.id, orders={0: order})
        return services.book_proposal(self.maker_actor, proposal_id=proposal.id, at=SUNDAY_EVENING)[
            0
        ]

    def question(self, proposal: Proposal) -> Question:
        """What would be if nothing were otherwise, asked of a proposal and not answered yet."""
        return Question.objects.create(
            community=self.community, proposal=proposal, supposing={}, asked_at=SUNDAY_EVENING
        )

    def on_the_road(self) -> list[Pickup]:
        """Return the visits of a route that has set out."""
        route = self.booked()
        services.start_route(self.driver, route_id=route.id, at=on_monday(8))
        return list(route.pickups.order_by("position"))

    def at_the_door(self) -> PickupLine:
        """Return the open line of the first visit, where the driver has arrived."""
        pickup = self.on_the_road()[0]
        services.arrive(self.driver, pickup_id=pickup.id, at=on_monday(8, 10))
        return pickup.lines.get()

    def reading(self, net_g: int) -> Reading:
        return Reading(
            method="weighed", gross_g=net_g + 150, tare_g=150, scale_id=self.scale.id, percent=95
        )

    def collect(self, line: PickupLine, net_g: int, lot_id: UUID | None = None) -> PickupLine:
        return services.collect_line(
            self.driver,
            line_id=line.id,
            lot_id=lot_id or new_id(),
            reading=self.reading(net_g),
            look=CLEAN,
            at=on_monday(8, 15),
        )


def route_id_of(pickup: Pickup) -> UUID:
    """Return the route of a visit that is planned."""
    assert pickup.route_id is not None
    return pickup.route_id


def say_level(container: Container, percent: int) -> None:
    FillReport.objects.create(
        community=container.community,
        container=container,
        percent=percent,
        origin=FillReport.Origin.CONTACT,
        at=SUNDAY_EVENING,
    )


def make_round(*, places: int = 3, community: Community | None = None) -> Round:
    community = community or CommunityFactory.create()
    maker = MakerFactory.create(community=community)
    WorkshopFactory.create(community=community, organisation=maker, longitude=-30.0)
    world = Round(
        community=community,
        maker=maker,
        vehicle=VehicleFactory.create(community=community, maker=maker),
        scale=ScaleFactory.create(community=community, maker=maker),
        maker_actor=acting(community, Role.MAKER, maker),
        driver=acting(community, Role.DRIVER, maker),
    )
    for _ in range(places):
        world.add_place()
    return world
