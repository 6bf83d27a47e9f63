"""A maker with clean caps in two colours from two schools: what tests of the workshop stand on.

school A ── green caps ──┐
                         ├─ washed ─ sorted ─ shredded ─ batch ─ pieces ─ passport
school B ── white caps ──┘
"""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from network.ids import new_id
from network.lots.models import Account, Lot
from network.people.core.actor import Actor
from network.people.models import Community, Role
from network.places.models import Container, Place
from network.workshop import services
from network.workshop.models import Batch, NamedColour, Press, ProcessRun, ProductRun
from network.workshop.services import Charged, Made, Taken
from tests.factories import AgreementFactory, ContainerFactory, PlaceFactory, acting
from tests.services.lots_story import MORNING, Story, make_story

LATER = MORNING + timedelta(hours=3)


@dataclass(kw_only=True)
class Workshop:
    """The maker's world with a second school, two colours and a press."""

    story: Story
    second: Container
    green: NamedColour
    white: NamedColour
    press: Press

    @property
    def maker(self) -> Actor:
        return self.story.maker_actor

    @property
    def places(self) -> list[Place]:
        return [self.story.agreement.place, self.second.agreement.place]

    def contact(self, place: Place) -> Actor:
        """Return a contact of a place."""
        return acting(self.story.community, Role.CONTACT, place.organisation)

    def at_home(self, net_g: int = 8_000, *, container: Container | None = None) -> Lot:
        return self.story.at_home(net_g, **({"container": container} if container else {}))

    def run(self, kind: str, taken: list[Taken], made: list[Made], **more: Any) -> ProcessRun:
        arguments: dict[str, Any] = {"run_id": new_id(), "at": LATER, **more}
        return services.record_process(self.maker, kind=kind, taken=taken, made=made, **arguments)

    def clean(
        self,
        net_g: int = 8_000,
        *,
        colour: NamedColour | None = None,
        container: Container | None = None,
        **made: Any,
    ) -> Lot:
        """Return a lot that was washed without any loss, in green unless said."""
        lot = self.at_home(net_g, container=container)
        colour_id = (colour or self.green).id
        run = self.run(
            "wash",
            [Taken(lot_id=lot.id, state="collected")],
            [Made(mass_g=net_g, colour_id=colour_id, **made)],
        )
        return run.outputs.get().lot

    def charge(self, *lots_g: tuple[Lot, int], **more: Any) -> Batch:
        charges = [Charged(lot_id=lot.id, state="washed", mass_g=g) for lot, g in lots_g]
        arguments: dict[str, Any] = {
            "batch_id": new_id(),
            "name": "Monday's batch",
            "charges": charges,
            "at": LATER,
        }
        return services.charge_batch(self.maker, **{**arguments, **more})

    def make(self, batch: Batch, mass_g: int, **more: Any) -> ProductRun:
        arguments: dict[str, Any] = {
            "product_id": new_id(),
            "batch_id": batch.id,
            "name": "Tray",
            "pieces": 10,
            "mass_g": mass_g,
            "at": LATER,
        }
        return services.record_product(self.maker, **{**arguments, **more})


def make_workshop(community: Community | None = None) -> Workshop:
    story = make_story(community)
    rules = story.agreement.rule_version
    place = PlaceFactory.create(community=story.community)
    other = AgreementFactory.create(community=story.community, place=place, rule_version=rules)
    colours = {
        name: services.add_colour(
            story.maker_actor,
            colour_id=new_id(),
            maker_id=story.maker.id,
            name=name,
            lab=lab,
        )
        for name, lab in (
            ("sea green", [Decimal(60), Decimal(-30), Decimal(-5)]),
            ("white", [Decimal(95), Decimal(0), Decimal(2)]),
        )
    }
    press = services.add_press(
        story.maker_actor,
        press_id=new_id(),
        maker_id=story.maker.id,
        name="Old oven and jack",
        is_settable=True,
        heats_c_max=250,
        rating_n=98_067,
        cooling="two_faces",
    )
    return Workshop(
        story=story,
        second=ContainerFactory.create(agreement=other),
        green=colours["sea green"],
        white=colours["white"],
        press=press,
    )


def balances_of(community_id: UUID) -> dict[str, int]:
    """Return the grams of a whole community by kind of account."""
    found: dict[str, int] = {}
    for account in Account.objects.filter(community_id=community_id):
        found[account.kind] = found.get(account.kind, 0) + account.balance_g
    return {kind: mass_g for kind, mass_g in found.items() if mass_g}
