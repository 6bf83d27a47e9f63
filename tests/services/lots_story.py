"""One maker with a scale and a van, and bags at a school: what tests of lots stand on."""

from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from network.ids import new_id
from network.lots import services
from network.lots.models import Account, Inspection, Lot, Scale, Weighing
from network.lots.services import Reading
from network.people.core.actor import Actor
from network.people.models import Community, Organisation, Role
from network.places.models import Agreement, Container
from tests.factories import (
    AgreementFactory,
    CommunityFactory,
    ContainerFactory,
    MakerFactory,
    RuleVersionFactory,
    ScaleFactory,
    StreamFactory,
    acting,
)

MORNING = datetime(2025, 10, 6, 9, tzinfo=UTC)
CLEAN = {"resins": ["PE-HD"], "items": ["bottle-cap"], "met": ["rinsed", "dry"]}
UNRINSED = {"resins": ["PE-HD"], "items": ["bottle-cap"], "unmet": ["rinsed"]}


@dataclass(kw_only=True)
class Story:
    """A maker's world; `collect` and `at_home` shorten what most tests begin with."""

    community: Community
    maker: Organisation
    agreement: Agreement
    container: Container
    scale: Scale
    maker_actor: Actor
    driver: Actor
    vehicle_id: UUID = field(default_factory=new_id)

    def reading(self, net_g: int, tare_g: int = 150) -> Reading:
        return Reading(
            method="weighed", gross_g=net_g + tare_g, tare_g=tare_g, scale_id=self.scale.id
        )

    def collect(
        self, net_g: int = 8_000, **changes: Any
    ) -> tuple[Lot, Weighing, Inspection | None]:
        arguments: dict[str, Any] = {
            "lot_id": new_id(),
            "container": self.container,
            "vehicle_id": self.vehicle_id,
            "reading": self.reading(net_g),
            "at": MORNING,
        }
        return services.take_from_container(self.driver, **{**arguments, **changes})

    def at_home(self, net_g: int = 8_000, **changes: Any) -> Lot:
        """Return a lot collected and brought to the store."""
        lot = self.collect(net_g, **changes)[0]
        services.bring_home(self.driver, lots=[lot], vehicle_id=self.vehicle_id, at=MORNING)
        return lot


def make_story(community: Community | None = None) -> Story:
    community = community or CommunityFactory.create()
    maker = MakerFactory.create(community=community)
    stream = StreamFactory.create(community=community, maker=maker)
    rules = RuleVersionFactory.create(community=community, stream=stream)
    agreement = AgreementFactory.create(community=community, rule_version=rules)
    return Story(
        community=community,
        maker=maker,
        agreement=agreement,
        container=ContainerFactory.create(agreement=agreement),
        scale=ScaleFactory.create(community=community, maker=maker),
        maker_actor=acting(community, Role.MAKER, maker),
        driver=acting(community, Role.DRIVER, maker),
    )


def balances_g(*lots: Lot) -> dict[str, int]:
    """Return the grams of these lots by kind of account, without those at zero."""
    found: dict[str, int] = {}
    for account in Account.objects.filter(lot__in=lots):
        found[account.kind] = found.get(account.kind, 0) + account.balance_g
    return {kind: mass_g for kind, mass_g in found.items() if mass_g}
