"""Tern Rock with two vans and four places, one of them nearly empty; prints ways in as JSON.

All places but the workshop are open every day, so that a plan can be for any.
"""

import json
from datetime import UTC, datetime, time, timedelta

import django

django.setup()

from network.ids import new_id  # noqa: E402  # models need the settings first
from network.people.models import Organisation  # noqa: E402
from network.people.services import add_organisation  # noqa: E402
from network.pickups.services import add_vehicle  # noqa: E402
from network.places.models import Container, FillReport  # noqa: E402
from network.places.services import (  # noqa: E402
    AgreementInput,
    ContainersInput,
    PlaceInput,
    WindowInput,
    register_place,
)
from tests.browser.world import VAN, TernRock, found, ways_in  # noqa: E402

PERCENT = {"North Café": 95, "East Café": 90, "South Café": 85, "Far Café": 4}


def _place(rock: TernRock, name: str, percent: int, *, east: float) -> None:
    organisation = add_organisation(rock.chief, name=name, kind=Organisation.Kind.CAFE)
    always = [WindowInput(weekday=day, opens=time(7), closes=time(18)) for day in range(7)]
    place = register_place(
        rock.chief,
        organisation=organisation.id,
        place=PlaceInput(
            name=name,
            kind="cafe",
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
            containers=[ContainersInput(kind="bag", volume_ml=80_000, tare_g=150, count=1)],
        ),
    )
    container = Container.objects.get(agreement__place=place)
    FillReport.objects.create(
        community_id=container.community_id,
        container=container,
        percent=percent,
        origin=FillReport.Origin.CONTACT,
        at=datetime.now(UTC) - timedelta(hours=1),
    )


def main() -> None:
    """Found Tern Rock, and let its places fill."""
    rock = found()
    add_vehicle(rock.maker, vehicle_id=new_id(), name="Blue van", figures=VAN)
    for number, (name, percent) in enumerate(PERCENT.items(), start=1):
        far = 0.12 if name == "Far Café" else 0.0
        _place(rock, name, percent, east=0.004 * number + far)
    print(json.dumps(ways_in(rock)))  # noqa: T201  # read by who started it


if __name__ == "__main__":
    main()
