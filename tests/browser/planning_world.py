"""Tern Rock with two vans and four places, one of them nearly empty; prints ways in as JSON.

All places but the workshop are open every day, so that a plan can be for any.
"""

import json
from datetime import UTC, datetime, time, timedelta

import django

django.setup()

from network.ids import new_id  # noqa: E402  # models need the settings first
from network.pickups.services import add_vehicle  # noqa: E402
from network.places.models import FillReport  # noqa: E402
from network.places.services import WindowInput  # noqa: E402
from tests.browser.world import VAN, TernRock, add_place, found, ways_in  # noqa: E402

PERCENT = {"North Café": 95, "East Café": 90, "South Café": 85, "Far Café": 4}


def _place(rock: TernRock, name: str, percent: int, *, east: float) -> None:
    always = [WindowInput(weekday=day, opens=time(7), closes=time(18)) for day in range(7)]
    container = add_place(rock, name=name, kind="cafe", east=east, windows=always)
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
