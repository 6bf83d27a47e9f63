"""Tern Rock with clean caps in its maker's store; prints ways in as JSON.

A school gave 6,000 g and a café 2,000 g. Run as a program of its own, like the world it adds to.
"""

import json
from datetime import UTC, datetime, time, timedelta

import django

django.setup()

from network.ids import new_id  # noqa: E402  # models need the settings first
from network.lots.services import Reading, bring_home, take_from_container  # noqa: E402
from network.people.models import Organisation, Role  # noqa: E402
from network.people.services import (  # noqa: E402
    add_organisation,
    add_person,
    grant_role,
    sign_in_link_token,
)
from network.places.models import Container  # noqa: E402
from network.places.services import (  # noqa: E402
    AgreementInput,
    ContainersInput,
    PlaceInput,
    WindowInput,
    register_place,
)
from tests.browser.world import TernRock, found, ways_in  # noqa: E402

SCHOOL_G, CAFE_G = 6_000, 2_000
TARE_G = 150


def _container_at(rock: TernRock, *, name: str, kind: str, east: float) -> Container:
    """Register a place with one bag for the maker's caps."""
    organisation = add_organisation(rock.chief, name=name, kind=Organisation.Kind(kind))
    always = [WindowInput(weekday=day, opens=time(8), closes=time(16)) for day in range(5)]
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
            windows=always,
        ),
        agreement=AgreementInput(
            stream_id=rock.stream_id,
            main_item="bottle-cap",
            starts_on=datetime.now(UTC).date() - timedelta(days=30),
            containers=[ContainersInput(kind="bag", volume_ml=80_000, tare_g=TARE_G, count=1)],
        ),
    )
    return Container.objects.get(agreement__place=place)


def _fetch(rock: TernRock, container: Container, net_g: int) -> None:
    """Weigh the bag at the door and bring it to the store."""
    at = datetime.now(UTC) - timedelta(days=2)
    lot, _, _ = take_from_container(
        rock.maker,
        lot_id=new_id(),
        container=container,
        vehicle_id=rock.vehicle_id,
        reading=Reading(
            method="weighed", gross_g=net_g + TARE_G, tare_g=TARE_G, scale_id=rock.scale_id
        ),
        at=at,
    )
    bring_home(rock.maker, lots=[lot], vehicle_id=rock.vehicle_id, at=at + timedelta(hours=2))


def main() -> None:
    """Found Tern Rock, and fill its store."""
    rock = found()
    school = _container_at(rock, name="Reef School", kind="school", east=0.004)
    cafe = _container_at(rock, name="Tide Café", kind="cafe", east=0.008)
    _fetch(rock, school, SCHOOL_G)
    _fetch(rock, cafe, CAFE_G)
    caretaker = add_person(email="caretaker@reef.example", name="Caretaker")
    holder = school.agreement.place.organisation
    grant_role(rock.chief, user=caretaker, role=Role.CONTACT, organisation=holder)
    tokens = {**ways_in(rock), "contact": sign_in_link_token(caretaker)}
    print(json.dumps(tokens))  # noqa: T201  # read by the test


if __name__ == "__main__":
    main()
