"""A small community for stories in the browser, made by the services; prints ways in as JSON.

Run as a program of its own, so that the browser's event loop and Django's models never meet.
"""

import json
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from decimal import Decimal
from uuid import UUID

import django

django.setup()

from network.ids import new_id  # noqa: E402  # models need the settings first
from network.lots.services import add_scale  # noqa: E402
from network.materials.services import create_stream  # noqa: E402
from network.people.core.actor import Actor  # noqa: E402
from network.people.models import Community, Organisation, Role, User  # noqa: E402
from network.people.queries import actor_in  # noqa: E402
from network.people.services import (  # noqa: E402
    add_district,
    add_organisation,
    add_person,
    create_community,
    grant_role,
    sign_in_link_token,
)
from network.pickups.services import VehicleFigures, add_vehicle  # noqa: E402
from network.places.models import Container  # noqa: E402
from network.places.services import (  # noqa: E402
    AgreementInput,
    ContainersInput,
    PlaceInput,
    WindowInput,
    register_place,
)

RULES = {
    "schema_version": 1,
    "resins": ["PE-HD"],
    "items": ["bottle-cap"],
    "states": {"rinsed": "must", "dry": "wanted"},
    "never": ["glass", "oil_or_chemical"],
    "contamination_clean_max": "0.02",
    "contamination_extra_work_max": "0.10",
    "smallest_g": 1000,
}


TARE_G = 150
VAN = VehicleFigures(
    payload_g=600_000,
    volume_ml=3_000_000,
    cost_per_shift=Decimal("10.00"),
    cost_per_km=Decimal("0.40"),
    cost_per_hour=Decimal("12.00"),
)


@dataclass(frozen=True, kw_only=True)
class TernRock:
    """Who acts in the community, and what they have."""

    people: dict[str, User]
    chief: Actor
    maker: Actor
    district_id: UUID
    stream_id: UUID
    vehicle_id: UUID
    scale_id: UUID


def found() -> TernRock:
    """Found the community of Tern Rock with one maker."""
    organiser = add_person(email="desk@tern.example", name="Desk of Tern Rock")
    community = _found_community(organiser)
    chief = actor_in(community=community, user_id=organiser.id)
    district = add_district(chief, name="Harbour")
    maker_org = add_organisation(chief, name="Kelp Yard", kind=Organisation.Kind.MAKER)
    maker = add_person(email="maker@kelp.example", name="Maker at Kelp Yard")
    grant_role(chief, user=maker, role=Role.MAKER, organisation=maker_org)
    _add_workshop(chief, maker_org, district.id)
    acting = actor_in(community=community, user_id=maker.id)
    stream = create_stream(
        acting,
        maker_id=maker_org.id,
        name="Bottle caps",
        summary="Caps of drink bottles, rinsed and dry.",
        reach_m=15_000,
        rules=RULES,
    )
    vehicle = add_vehicle(
        acting,
        vehicle_id=new_id(),
        name="Grey van",
        figures=VAN,
    )
    scale = add_scale(
        acting,
        scale_id=new_id(),
        maker_id=maker_org.id,
        name="Bench scale",
        max_g=60_000,
        interval_g=20,
    )
    return TernRock(
        people={"organiser": organiser, "maker": maker},
        chief=chief,
        maker=acting,
        district_id=district.id,
        stream_id=stream.id,
        vehicle_id=vehicle.id,
        scale_id=scale.id,
    )


def add_place(
    rock: TernRock, *, name: str, kind: str, east: float, windows: list[WindowInput]
) -> Container:
    """Register a place with one bag for the maker's caps; return the bag."""
    organisation = add_organisation(rock.chief, name=name, kind=Organisation.Kind(kind))
    place = register_place(
        rock.chief,
        organisation=organisation.id,
        place=PlaceInput(
            name=name,
            kind=kind,
            address="2 Slip Road",
            longitude=-30.0 + east,
            latitude=45.004,
            district_id=rock.district_id,
            windows=windows,
        ),
        agreement=AgreementInput(
            stream_id=rock.stream_id,
            main_item="bottle-cap",
            starts_on=datetime.now(UTC).date() - timedelta(days=30),
            containers=[ContainersInput(kind="bag", volume_ml=80_000, tare_g=TARE_G, count=1)],
        ),
    )
    return Container.objects.get(agreement__place=place)


def _found_community(organiser: User) -> Community:
    return create_community(
        organiser=organiser,
        slug="tern-rock",
        name="Tern Rock",
        timezone_name="Europe/London",
        country="GB",
        subdivision="ENG",
        currency="GBP",
        longitude=-30.0,
        latitude=45.0,
    )


def _add_workshop(chief: Actor, organisation: Organisation, district_id: UUID) -> None:
    """Register where the maker works, open day and night."""
    always = [WindowInput(weekday=d, opens=time(0, 5), closes=time(23, 50)) for d in range(7)]
    register_place(
        chief,
        organisation=organisation.id,
        place=PlaceInput(
            name="Kelp Yard workshop",
            kind="workshop",
            address="1 Slip Road",
            longitude=-30.0,
            latitude=45.0,
            district_id=district_id,
            windows=always,
        ),
    )


def ways_in(rock: TernRock) -> dict[str, str]:
    """Return the token by which each signs in, once."""
    return {name: sign_in_link_token(user) for name, user in rock.people.items()}


if __name__ == "__main__":
    print(json.dumps(ways_in(found())))  # noqa: T201  # read by the test
