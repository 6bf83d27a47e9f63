"""The nation that the ledger is measured on: makers, districts, places and what each sets aside."""

from dataclasses import dataclass
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from network.ids import new_id
from network.lots.models import Scale
from network.materials.models import Item, RuleVersion
from network.people.models import Community, District, Organisation, Role, User
from network.pickups.models import Vehicle
from network.places.models import Agreement, Container, Place
from tests.factories import (
    LONG_AGO,
    CommunityFactory,
    DistrictFactory,
    MakerFactory,
    RuleVersionFactory,
    ScaleFactory,
    VehicleFactory,
    member,
)

SLUG = "nation"
DISTRICTS = 40
MAKERS = 12
STREAMS_EACH = 2
_KINDS = ("school", "cafe", "salon", "cleaner", "other")
_AT_ONCE = 5_000


@dataclass(frozen=True, kw_only=True)
class Works:
    """A maker with what its lots need."""

    maker: Organisation
    rule_versions: list[RuleVersion]
    scale: Scale
    vehicle: Vehicle


@dataclass(frozen=True, kw_only=True)
class Nation:
    """The community, and for each place what a lot from there says, as 16 bytes each."""

    community: Community
    organiser: User
    works: list[Works]
    maker_of: NDArray[np.int64]
    ids: dict[str, NDArray[np.uint8]]


def found_nation(places: int, random: np.random.Generator) -> Nation:
    """Make a nation with its makers and so many places, which each set one stream aside."""
    community = CommunityFactory.create(slug=SLUG, name="The nation")
    organiser = member(community, Role.ORGANISER)
    works = [_works(community) for _ in range(MAKERS)]
    districts = [DistrictFactory.create(community=community) for _ in range(DISTRICTS)]
    maker_of = np.zeros(places, dtype=np.int64)
    kept: dict[str, list[UUID]] = {
        name: [] for name in ("place", "agreement", "container", "stream")
    }
    item = Item.objects.get(slug="bottle-cap")
    for first in range(0, places, _AT_ONCE):
        rows = []
        for number in range(first, min(first + _AT_ONCE, places)):
            district = int(random.integers(DISTRICTS))
            maker_of[number] = district % MAKERS
            versions = works[district % MAKERS].rule_versions
            version = versions[int(random.integers(STREAMS_EACH))]
            rows.append(_rows(number, districts[district], version, item))
        Organisation.objects.bulk_create([row[0] for row in rows])
        Place.objects.bulk_create([row[1] for row in rows])
        Agreement.objects.bulk_create([row[2] for row in rows])
        Container.objects.bulk_create([row[3] for row in rows])
        for _, place, agreement, container in rows:
            kept["place"].append(place.id)
            kept["agreement"].append(agreement.id)
            kept["container"].append(container.id)
            kept["stream"].append(agreement.stream_id)
    ids = {name: as_bytes(column) for name, column in kept.items()}
    return Nation(community=community, organiser=organiser, works=works, maker_of=maker_of, ids=ids)


def as_bytes(ids: list[UUID]) -> NDArray[np.uint8]:
    """Return ids as rows of 16 bytes."""
    return np.frombuffer(b"".join(one.bytes for one in ids), dtype=np.uint8).reshape(-1, 16)


def _works(community: Community) -> Works:
    maker = MakerFactory.create(community=community)
    return Works(
        maker=maker,
        rule_versions=[
            RuleVersionFactory.create(community=community, stream__maker=maker)
            for _ in range(STREAMS_EACH)
        ],
        scale=ScaleFactory.create(community=community, maker=maker),
        vehicle=VehicleFactory.create(community=community, maker=maker),
    )


def _rows(
    number: int, district: District, version: RuleVersion, item: Item
) -> tuple[Organisation, Place, Agreement, Container]:
    kind, community = _KINDS[number % len(_KINDS)], district.community
    organisation = Organisation(
        id=new_id(), community=community, name=f"Giver {number}", kind=kind, created_at=LONG_AGO
    )
    place = Place(
        id=new_id(),
        community=community,
        organisation=organisation,
        name=f"Place {number}",
        kind=kind,
        district=district,
        address=f"{number} Long Row",
        longitude=-30 + (number % 1000) * 0.005,
        latitude=45 + (number // 1000) * 0.005,
        status=Place.Status.ADMITTED,
        created_at=LONG_AGO,
        admitted_at=LONG_AGO,
    )
    agreement = Agreement(
        id=new_id(),
        community=community,
        place=place,
        stream=version.stream,
        rule_version=version,
        main_item=item,
        status=Agreement.Status.RUNNING,
        starts_on=LONG_AGO.date(),
        created_at=LONG_AGO,
    )
    container = Container(
        id=new_id(),
        community=community,
        agreement=agreement,
        tag=f"N{number:06d}",
        kind=Container.Kind.BAG,
        volume_ml=60_000,
        tare_g=150,
        placed_at=LONG_AGO,
    )
    return organisation, place, agreement, container
