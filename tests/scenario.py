"""A community in which everything has happened once, made by the services people use."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from uuid import UUID

from django.apps import apps
from django.utils import timezone

from network.ids import new_id
from network.lots import services as lots
from network.lots.models import Account, Lot
from network.notices.models import Notice, NoticeChoice
from network.notices.services import add_push_device, make_feed, make_webhook, try_webhook
from network.people.core.actor import Actor
from network.people.models import Community, CommunityRow, Membership, Role, User
from network.people.queries import actor_in
from network.people.services import invite, make_machine_token
from network.pickups import services as pickups
from network.pickups.models import Proposal
from network.places.models import Place
from network.places.services import preview_import
from network.places.services.counters import make_counter, note_counter_use
from network.reports.services import mark_others_place, state_factor
from network.workshop import services as workshop
from network.workshop.models import Batch
from network.workshop.queries.heating import PieceWish
from network.workshop.queries.pricing import PriceQuestion
from tests.factories import CommunityFactory, acting, member
from tests.pictures import a_picture
from tests.push_services import subscription
from tests.services.pickups_story import (
    CLEAN,
    MONDAY,
    UNRINSED,
    Round,
    make_round,
    on_monday,
)

SHEET = b"name,kind,address,longitude,latitude\nQuill School,school,1 Quill Row,-30.01,45.01\n"
HISTORY = b"date,place,kg\n2024-03-01,Quill School,12.5\n"


@dataclass(frozen=True, kw_only=True)
class Populated:
    """The community, its round, and one person for each role."""

    community: Community
    round: Round
    people: dict[Role, User]
    # What the shared device of the first place shows.
    counter_token: str

    def row(self, table: type[CommunityRow]) -> CommunityRow:
        """Return one row of a table; of places one that sets something aside."""
        if table is Place:
            return self.round.places[0]
        row = table._default_manager.filter(community=self.community).first()
        assert row is not None, f"Let tests/scenario.py make a {table.__name__}."
        return row

    def ids(self) -> set[str]:
        """Return the id of every row of the community, in whatever table, and of its people."""
        held = Membership.objects.filter(community=self.community)
        rows = {str(user_id) for user_id in held.values_list("user_id", flat=True)}
        for table in apps.get_models():
            if issubclass(table, CommunityRow):
                here = table._default_manager.filter(community=self.community)
                rows.update(str(row.pk) for row in here)
        return rows


def populate(slug: str) -> Populated:
    """Return a community with at least one row of everything."""
    community = CommunityFactory.create(slug=slug)
    world = make_round(community=community)
    organiser = acting(community, Role.ORGANISER)
    people = {
        Role.CONTACT: member(community, Role.CONTACT, world.places[0].organisation),
        Role.DRIVER: _person(world.driver),
        Role.MAKER: _person(world.maker_actor),
        Role.ORGANISER: _person(organiser),
    }
    invite(organiser, role="contact", suggested_name="Quill Café", suggested_kind="cafe")
    preview_import(organiser, file_name="places.csv", content=SHEET)
    lots.begin_history(organiser, import_id=new_id(), file_name="old.csv", content=HISTORY)
    _drive(world)
    world.question(Proposal.objects.filter(community=community)[0])
    _work(world)
    _make(world)
    state_factor(
        organiser,
        factor_id=new_id(),
        code="van_per_km",
        value=Decimal("0.24"),
        source="The year's sheet",
        year=2025,
        region="The isle",
    )
    other = CommunityFactory.create(slug=f"beyond-{slug}")
    mark_others_place(organiser, place_id=world.places[2].id, other=other.slug)
    lots.seal_period(organiser, seal_id=new_id(), last_day=MONDAY)
    pickups.ask_for_pickup(world.contact(1), pickup_id=new_id(), place_id=world.places[1].id)
    webhook, _ = make_webhook(world.maker_actor, name="Scale", url="https://hooks.example/")
    try_webhook(world.maker_actor, webhook_id=webhook.id, delivery_id=new_id())
    for person in people.values():
        _tell(community, person)
    _subscribe(world, people[Role.CONTACT])
    counter, counter_token = make_counter(
        organiser, place_id=world.places[0].id, name="Hall", valid_days=30
    )
    # Its use is noted once an hour: now, and not while something is refused.
    note_counter_use(counter, at=timezone.now())
    return Populated(community=community, round=world, people=people, counter_token=counter_token)


def _tell(community: Community, person: User) -> None:
    """Something is told, in words that need not be true; and the person has chosen how."""
    Notice.objects.create(
        community=community,
        user=person,
        kind=Notice.Kind.PICKUP_BOOKED,
        event_id=new_id(),
        subject_id=new_id(),
        title=f"A visit in {community.name}",
        paragraphs=["It is booked."],
        link="/places",
        created_at=on_monday(8),
    )
    NoticeChoice.objects.create(community=community, user=person)


def _subscribe(world: Round, person: User) -> None:
    contact = actor_in(community=world.community, user_id=person.id)
    make_feed(contact, place_id=world.places[0].id)
    add_push_device(contact, device_id=new_id(), name="Phone", **subscription())
    make_machine_token(contact, name="Scale", may_write=False, valid_days=30)


def _person(actor: Actor) -> User:
    assert actor.user_id is not None
    return User.objects.get(id=actor.user_id)


def _drive(world: Round) -> None:
    """One bag is collected, one turned away, and the van is home; a second round is booked."""
    first, second, third = world.on_the_road()
    pickups.arrive(world.driver, pickup_id=first.id, at=on_monday(8, 10))
    world.collect(first.lines.get(), 8_000)
    pickups.finish_pickup(world.driver, pickup_id=first.id, at=on_monday(8, 20))
    pickups.arrive(world.driver, pickup_id=second.id, at=on_monday(8, 30))
    pickups.turn_away_line(
        world.driver,
        line_id=second.lines.get().id,
        inspection_id=new_id(),
        look=UNRINSED,
        at=on_monday(8, 35),
    )
    pickups.add_photo(
        world.driver, photo_id=new_id(), line_id=second.lines.get().id, content=a_picture()
    )
    pickups.finish_pickup(world.driver, pickup_id=second.id, at=on_monday(8, 40))
    pickups.skip_pickup(world.driver, pickup_id=third.id, reason="Shut.", at=on_monday(9))
    route_id = first.route_id
    assert route_id is not None
    pickups.finish_route(world.driver, route_id=route_id, at=on_monday(9, 30))


def _work(world: Round) -> None:
    """The lot is inspected, split and put together again; some is lost, some passed on."""
    lot = Lot.objects.get(community=world.community)
    actor, at = world.maker_actor, on_monday(10)
    lots.inspect(
        actor,
        inspection_id=new_id(),
        lot_id=lot.id,
        observation=CLEAN,
        sample_g=1_000,
        findings=[("paper", 30)],
        taken_out_g=200,
        at=at,
    )
    parts = lots.split_lot(actor, first_id=new_id(), lot_id=lot.id, parts_g=[3_000, 2_000], at=at)
    merged = lots.merge_lots(
        actor, lot_id=new_id(), lot_ids=[part.id for part in parts], at=_later(at)
    )
    _take_out(world, merged.id, _later(at))


def _make(world: Round) -> None:
    """Some of the lot is washed, charged to a batch, pressed, made into pieces and sold."""
    actor, maker_id, at = world.maker_actor, world.maker.id, on_monday(12)
    colour = workshop.add_colour(actor, colour_id=new_id(), maker_id=maker_id, name="sea green")
    lot = Account.objects.get(lot__community=world.community, kind="collected", balance_g=2_800).lot
    run = workshop.record_process(
        actor,
        run_id=new_id(),
        kind="wash",
        taken=[workshop.Taken(lot_id=lot.id, state="collected", mass_g=1_000)],
        made=[workshop.Made(mass_g=950, colour_id=colour.id)],
        at=at,
    )
    recipe = workshop.save_recipe(
        actor,
        recipe_id=new_id(),
        maker_id=maker_id,
        name="Tray",
        resin="PE-HD",
        mass_g=900,
        steps=[{"name": "all", "share": "1", "colours": [{"colour_id": colour.id, "share": "1"}]}],
    )
    workshop.describe_lot(
        actor, lot_id=run.outputs.get().lot_id, resin="PE-HD", colour_id=colour.id
    )
    batch = workshop.charge_by_recipe(
        actor, batch_id=new_id(), name="Monday", recipe_id=recipe.id, at=_later(at)
    )
    _press_and_sell(world, batch, _later(at))


def _press_and_sell(world: Round, batch: Batch, at: datetime) -> None:
    actor, maker_id = world.maker_actor, world.maker.id
    press = workshop.add_press(
        actor,
        press_id=new_id(),
        maker_id=maker_id,
        name="Oven and jack",
        is_settable=True,
        heats_c_max=250,
        rating_n=98_000,
        cooling="air",
    )
    piece = PieceWish(
        press_id=press.id,
        resin="PE-HD",
        thickness_um=10_000,
        width_mm=200,
        length_mm=200,
        pressure_kpa=500,
    )
    workshop.record_pressing(actor, pressing_id=new_id(), batch_id=batch.id, wish=piece, at=at)
    product = workshop.record_product(
        actor, product_id=new_id(), batch_id=batch.id, name="Tray", pieces=2, mass_g=800, at=at
    )
    workshop.publish_passport(actor, passport_id=new_id(), product_id=product.id, at=at)
    workshop.save_price_sheet(
        actor,
        sheet_id=new_id(),
        maker_id=maker_id,
        name="Tray",
        question=PriceQuestion(day_rate=Decimal(120), pieces_per_day=Decimal(8)),
        inputs={"day_rate": "120", "pieces_per_day": "8", "stages": []},
    )


def _take_out(world: Round, lot_id: UUID, at: datetime) -> None:
    for take_out in (lots.record_loss, lots.pass_on):
        movement = take_out(
            world.maker_actor, movement_id=new_id(), lot_id=lot_id, mass_g=50, note="", at=at
        )
    lots.reverse_movement(
        world.maker_actor, movement_id=new_id(), reverses_id=movement.id, note="Slip.", at=at
    )


def _later(at: datetime) -> datetime:
    return at + timedelta(minutes=5)
