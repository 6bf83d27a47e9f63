"""One maker, one school and one organiser on an isle: what the tests of places begin with."""

from dataclasses import dataclass
from datetime import date, time
from uuid import UUID

from network.materials.models import RuleVersion, Stream
from network.people.core.actor import Actor
from network.people.models import Community, Organisation, Role
from network.places.models import Place
from network.places.services import (
    AgreementInput,
    ContainersInput,
    PlaceInput,
    SpanInput,
    WindowInput,
)
from tests.factories import (
    CommunityFactory,
    MakerFactory,
    OrganisationFactory,
    RuleVersionFactory,
    StreamFactory,
    WorkshopFactory,
    acting,
)

START = date(2026, 1, 5)  # a Monday


@dataclass(frozen=True, kw_only=True)
class Isle:
    """A community in which a school may begin."""

    community: Community
    maker: Organisation
    workshop: Place
    stream: Stream
    rules: RuleVersion
    school: Organisation
    organiser: Actor
    contact: Actor
    driver: Actor
    making: Actor


def make_isle() -> Isle:
    """Return an isle with a maker, its workshop and stream, and a school without a place yet."""
    community = CommunityFactory.create()
    maker = MakerFactory.create(community=community)
    workshop = WorkshopFactory.create(
        community=community, organisation=maker, longitude=-30.0, latitude=45.0
    )
    stream = StreamFactory.create(community=community, maker=maker, reach_m=20_000)
    rules = RuleVersionFactory.create(community=community, stream=stream)
    school = OrganisationFactory.create(community=community)
    return Isle(
        community=community,
        maker=maker,
        workshop=workshop,
        stream=stream,
        rules=rules,
        school=school,
        organiser=acting(community, Role.ORGANISER),
        contact=acting(community, Role.CONTACT, school),
        driver=acting(community, Role.DRIVER, maker),
        making=acting(community, Role.MAKER, maker),
    )


def a_place(name: str = "Quill School", **changes: object) -> PlaceInput:
    """Return a school 2 km from the workshop, open on two mornings, shut in the summer."""
    described: dict[str, object] = {
        "name": name,
        "kind": "school",
        "address": "1 Quay Lane",
        "longitude": -29.975,
        "latitude": 45.0,
        "windows": [
            WindowInput(weekday=1, opens=time(9), closes=time(12)),
            WindowInput(weekday=3, opens=time(9), closes=time(12)),
        ],
        "spans": [
            SpanInput(
                kind="term",
                first_day=date(2026, 1, 5),
                last_day=date(2026, 7, 17),
                label="Spring and summer",
            )
        ],
    }
    return PlaceInput(**{**described, **changes})  # type: ignore[arg-type]  # checked when made


def an_agreement(stream_id: UUID, bags: int = 2) -> AgreementInput:
    """Return an agreement on bottle caps in bags of 60 litres."""
    bag = ContainersInput(kind="bag", volume_ml=60_000, tare_g=150, count=bags)
    return AgreementInput(
        stream_id=stream_id, main_item="bottle-cap", starts_on=START, containers=[bag]
    )
