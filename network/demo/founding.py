"""The isle's community is founded, its makers set up, and its places registered."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from network.demo import scenario
from network.demo.scenario import StreamWish
from network.ids import new_id
from network.lots.services import add_scale
from network.materials.models import Stream
from network.materials.services import create_stream
from network.people.core.actor import Actor
from network.people.models import Community, Organisation, Role, User
from network.people.queries import actor_in
from network.people.services import (
    add_district,
    add_organisation,
    add_person,
    create_community,
    grant_role,
)
from network.pickups.services import VehicleFigures, add_vehicle, bring_roads
from network.places.models import Place
from network.places.services import (
    AgreementInput,
    ContainersInput,
    PlaceInput,
    SpanInput,
    register_place,
)


@dataclass(frozen=True, kw_only=True)
class Maker:
    """A maker with what it needs to plan a route and weigh what came."""

    actor: Actor
    driver: User
    organisation: Organisation
    vehicle_id: UUID
    scale_id: UUID


@dataclass(frozen=True, kw_only=True)
class Source:
    """A place with its contact and how fast it really fills, which Millrace is not told."""

    place: Place
    contact: Actor
    litres_a_week: float
    grams_a_litre: int


@dataclass(frozen=True, kw_only=True)
class Isle:
    """All that was founded."""

    community: Community
    organiser: Actor
    makers: Mapping[str, Maker]
    sources: tuple[Source, ...]


def found_isle(at: datetime) -> Isle:
    """Found the community as of a moment about a year ago."""
    organiser = add_person(email="organiser@tamsin.example", name="Organiser of Tamsin Isle")
    community = create_community(
        organiser=organiser,
        slug=scenario.SLUG,
        name=scenario.NAME,
        timezone_name=scenario.TIMEZONE,
        country=scenario.COUNTRY,
        subdivision=scenario.SUBDIVISION,
        currency=scenario.CURRENCY,
        longitude=scenario.LONGITUDE,
        latitude=scenario.LATITUDE,
        at=at,
    )
    actor = actor_in(community=community, user_id=organiser.id)
    districts = {name: add_district(actor, name=name).id for name in scenario.DISTRICTS}
    add_organisation(actor, name=scenario.COUNCIL, kind=Organisation.Kind.COUNCIL, at=at)
    makers = {
        row["organisation"]: _found_maker(community, actor, row, districts, at=at)
        for row in scenario.read("makers.json")
    }
    streams = {wish.name: _open_stream(makers[wish.maker], wish, at) for wish in scenario.STREAMS}
    heavy = {wish.name: wish.grams_a_litre for wish in scenario.STREAMS}
    sources = tuple(
        Source(
            place=_register(community, actor, row, districts, streams[row["stream"]], at=at),
            contact=_contact(community, actor, row["organisation"], number, at),
            litres_a_week=row["litres_a_week"],
            grams_a_litre=heavy[row["stream"]],
        )
        for number, row in enumerate(scenario.read("places.json"))
    )
    bring_roads(
        community=community,
        features=scenario.read("road_map.geojson"),
        source=scenario.ROADS_SOURCE,
        as_of=at.date(),
    )
    return Isle(community=community, organiser=actor, makers=makers, sources=sources)


def _found_maker(
    community: Community,
    organiser: Actor,
    row: dict[str, Any],
    districts: Mapping[str, UUID],
    *,
    at: datetime,
) -> Maker:
    name = row["organisation"]
    slug = name.split()[0].lower()
    organisation = add_organisation(
        organiser,
        name=name,
        kind=Organisation.Kind.MAKER,
        carrier_registration=f"TI/{slug.upper()}/04",
        at=at,
    )
    user = add_person(email=f"maker@{slug}.example", name=f"Maker at {name}")
    grant_role(organiser, user=user, role=Role.MAKER, organisation=organisation, at=at)
    driver = add_person(email=f"driver@{slug}.example", name=f"Driver of {name}")
    grant_role(organiser, user=driver, role=Role.DRIVER, organisation=organisation, at=at)
    register_place(
        organiser,
        place=_place_input(f"{name} workshop", "workshop", row, districts),
        organisation=organisation.id,
        at=at,
    )
    actor = actor_in(community=community, user_id=user.id)
    van = dict(scenario.VANS[name])
    vehicle = add_vehicle(
        actor,
        vehicle_id=new_id(),
        name=str(van.pop("name")),
        figures=VehicleFigures(**van),  # type: ignore[arg-type]  # figures of a fixed table
        maker_id=organisation.id,
    )
    plate: dict[str, Any] = scenario.SCALE
    scale = add_scale(actor, scale_id=new_id(), maker_id=organisation.id, **plate)
    return Maker(
        actor=actor,
        driver=driver,
        organisation=organisation,
        vehicle_id=vehicle.id,
        scale_id=scale.id,
    )


def _open_stream(maker: Maker, wish: StreamWish, at: datetime) -> Stream:
    return create_stream(
        maker.actor,
        maker_id=maker.organisation.id,
        name=wish.name,
        summary=wish.summary,
        reach_m=25_000,
        rules=wish.rules,
        at=at,
    )


def _register(
    community: Community,
    organiser: Actor,
    row: dict[str, Any],
    districts: Mapping[str, UUID],
    stream: Stream,
    *,
    at: datetime,
) -> Place:
    organisation = add_organisation(organiser, name=row["organisation"], kind=row["kind"], at=at)
    fortnight_ml = row["litres_a_week"] * 2 * 1000
    count = 1 + int(fortnight_ml > row["container"]["volume_ml"])
    agreement = AgreementInput(
        stream_id=stream.id,
        main_item=row["main_item"],
        starts_on=(at + timedelta(days=1)).date(),
        containers=[ContainersInput(**row["container"], count=count)],
    )
    years = (at.year, at.year + 2)
    closures = scenario.school_closures(*years) if row["kind"] == "school" else []
    return register_place(
        organiser,
        place=_place_input(row["organisation"], row["kind"], row, districts, spans=closures),
        organisation=organisation.id,
        agreement=agreement,
        at=at,
    )


def _place_input(
    name: str,
    kind: str,
    row: dict[str, Any],
    districts: Mapping[str, UUID],
    spans: list[SpanInput] | None = None,
) -> PlaceInput:
    return PlaceInput(
        name=name,
        kind=kind,
        address=row["address"],
        longitude=row["longitude"],
        latitude=row["latitude"],
        district_id=districts[row["district"]],
        access_notes=scenario.access_notes_of(kind),
        windows=scenario.windows_of(kind),
        spans=spans or [],
    )


def _contact(community: Community, organiser: Actor, name: str, number: int, at: datetime) -> Actor:
    """Let someone at a place say how full it is; only the first is shown in the demo."""
    label = "Caretaker" if number == 0 else "Contact"
    user = add_person(email=f"place-{number + 1:02}@tamsin.example", name=f"{label} at {name}")
    organisation = Organisation.objects.get(community=community, name=name)
    grant_role(organiser, user=user, role=Role.CONTACT, organisation=organisation, at=at)
    return actor_in(community=community, user_id=user.id)
