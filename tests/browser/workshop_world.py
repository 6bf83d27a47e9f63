"""Tern Rock with clean caps in its maker's store; prints ways in as JSON.

A school gave 6,000 g and a café 2,000 g. Run as a program of its own, like the world it adds to.
"""

import json
from datetime import UTC, datetime, time, timedelta

import django

django.setup()

from network.ids import new_id  # noqa: E402  # models need the settings first
from network.lots.services import Reading, bring_home, take_from_container  # noqa: E402
from network.people.models import Role  # noqa: E402
from network.people.services import add_person, grant_role, sign_in_link_token  # noqa: E402
from network.places.models import Container  # noqa: E402
from network.places.services import WindowInput  # noqa: E402
from tests.browser.world import TARE_G, TernRock, add_place, found, ways_in  # noqa: E402

SCHOOL_G, CAFE_G = 6_000, 2_000


def _container_at(rock: TernRock, *, name: str, kind: str, east: float) -> Container:
    """Register a place with one bag for the maker's caps."""
    always = [WindowInput(weekday=day, opens=time(8), closes=time(16)) for day in range(5)]
    return add_place(rock, name=name, kind=kind, east=east, windows=always)


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
