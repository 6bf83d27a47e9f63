"""What a product says of itself, and what became of a place's material: the ledger's own words."""

from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from uuid import UUID

import pytest

from network.errors import Conflict, NotFound
from network.ids import new_id
from network.lots.models import Account, Lot, Movement
from network.lots.services import merge_lots, reverse_movement
from network.people.models import Community, Role
from network.workshop import services
from network.workshop.core.pricing import Costs, unit_cost
from network.workshop.models import ProductRun
from network.workshop.queries.identifying import Evidence, FloatSaid, LiquidSaid, identify
from network.workshop.queries.passports import PassportPage, passport_page, story_of, what_became_of
from network.workshop.queries.pricing import PriceQuestion, StageTime, price
from network.workshop.queries.sampling import SamplingQuestion, sampling_plan
from network.workshop.queries.seen import price_sheets_seen_by, products_seen_by
from network.workshop.refusals import NothingPerDay
from network.workshop.services import Charged, Made, Taken
from tests.factories import acting
from tests.services.workshop_story import LATER, Workshop, make_workshop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> Workshop:
    return make_workshop()


def grams_by_place(product: ProductRun) -> dict[UUID, Fraction]:
    """Follow every line of the ledger back from the pieces to the places, step by step.

    Written without the code that is tested: lines only, no parents and no shares kept.
    """
    found: dict[UUID, Fraction] = {}

    def follow(lot: Lot, mass: Fraction) -> None:
        into = [
            line
            for line in Movement.objects.filter(to_account__lot=lot).select_related(
                "from_account__lot__place"
            )
            if line.from_account.lot_id != lot.id or line.from_account.kind == "container"
        ]
        whole = sum(line.mass_g for line in into)
        for line in into:
            part = mass * line.mass_g / whole
            if line.from_account.kind == "container":
                assert lot.place_id is not None
                found[lot.place_id] = found.get(lot.place_id, Fraction(0)) + part
            else:
                follow(line.from_account.lot, part)

    pieces = Account.objects.filter(kind="product", holder_id=product.id, balance_g__gt=0)
    for account in pieces.select_related("lot__place"):
        follow(account.lot, Fraction(account.balance_g))
    return found


def mixed_product(shop: Workshop) -> ProductRun:
    """Make pieces of 3 kg of one school's caps, washed with 1 kg of another's, and more of one."""
    first, other = shop.at_home(3_000), shop.at_home(1_000, container=shop.second)
    run = shop.run(
        "wash",
        [Taken(lot_id=lot.id, state="collected") for lot in (first, other)],
        [Made(mass_g=3_600, colour_id=shop.green.id)],
        residue_g=200,
    )
    more = shop.clean(900, colour=shop.white, container=shop.second)
    batch = shop.charge((run.outputs.get().lot, 2_700), (more, 900))
    return shop.make(batch, 3_200, offcut_g=300)


def test_the_shares_of_a_passport_are_those_of_the_ledger(shop: Workshop) -> None:
    product = mixed_product(shop)
    by_place = grams_by_place(product)
    first, second = (place.id for place in shop.places)
    # By hand: three quarters of the pieces are 2400 g, of which three quarters are the first's.
    assert by_place == {first: Fraction(1_800), second: Fraction(1_400)}
    story = story_of(product)
    (share,) = story.origins  # both are schools, and both of one stream
    assert (share.place_kind, share.mass_g, share.percent) == ("school", 3_200, Decimal(100))
    assert story.ledger_g == product.mass_g == sum(by_place.values())


def test_kinds_of_place_are_told_apart_and_no_place_is_named(shop: Workshop) -> None:
    place = shop.places[1]
    place.kind = "cafe"
    place.name = "The Crooked Teapot"
    place.save()
    product = mixed_product(shop)
    story = story_of(product)
    assert {(o.place_kind, o.mass_g, o.percent) for o in story.origins} == {
        # 56.25 and 43.75 %, in the steps of five that these weighings bear out.
        ("school", 1_800, Decimal(55)),
        ("cafe", 1_400, Decimal(45)),
    }
    assert sum(o.percent for o in story.origins) == 100
    assert "Teapot" not in repr(passport_of(shop, product).story)


def passport_of(shop: Workshop, product: ProductRun) -> PassportPage:
    passport = services.publish_passport(
        shop.maker, passport_id=new_id(), product_id=product.id, at=LATER
    )
    return passport_page(passport.slug)


def test_shares_are_no_finer_than_the_weighings(shop: Workshop) -> None:
    """By hand: 8 kg on a scale of 20 g is known to ±37 g or so (k = 2), 0.46 %: whole per cents."""
    product = shop.make(shop.charge((shop.clean(8_000), 8_000)), 7_000)
    assert story_of(product).step_percent == 1
    small = make_workshop()
    product = small.make(small.charge((small.clean(500), 500)), 400)
    # By hand: ±37 g of half a kilogram is 7 %, so shares are given in tens.
    assert story_of(product).step_percent == 10


def test_one_place_only_is_identity_preserved_and_two_are_segregated(shop: Workshop) -> None:
    one = shop.make(shop.charge((shop.clean(1_000), 1_000)), 900)
    assert story_of(one).custody == "identity_preserved"
    assert story_of(mixed_product(shop)).custody == "segregated"


def test_bought_material_is_controlled_blending_and_its_offcuts_mass_balance(
    shop: Workshop,
) -> None:
    lot = shop.clean(1_900)
    pigment = services.Additive(name="Pigment", mass_g=50)
    first = shop.make(shop.charge((lot, 950), additive=pigment), 800, offcut_g=200)
    story = story_of(first)
    assert (story.custody, story.recycled_percent) == ("controlled_blending", 95)
    assert (story.bought_g, story.bought_name) == (40, "Pigment")
    assert sum(o.percent for o in story.origins) + story.bought_percent == 100
    again = shop.charge(
        charges=[
            Charged(lot_id=lot.id, state="offcut", mass_g=190),
            Charged(lot_id=lot.id, state="washed", mass_g=810),
        ]
    )
    later = story_of(shop.make(again, 900))
    assert (later.custody, later.recycled_percent) == ("mass_balance", 81)


def test_what_was_reversed_is_no_part_of_the_story(shop: Workshop) -> None:
    first, other = shop.at_home(3_000), shop.at_home(1_000, container=shop.second)
    whole = merge_lots(shop.maker, lot_id=new_id(), lot_ids=[first.id, other.id], at=LATER)
    line = Movement.objects.get(from_account__lot=other, reason="merged")
    reverse_movement(
        shop.maker, movement_id=new_id(), reverses_id=line.id, note="Not that one.", at=LATER
    )
    run = shop.run("wash", [Taken(lot_id=whole.id, state="collected")], [Made(mass_g=3_000)])
    product = shop.make(shop.charge((run.outputs.get().lot, 3_000)), 2_900)
    assert story_of(product).custody == "identity_preserved"
    became = what_became_of(shop.contact(shop.places[1]), shop.places[1].id)
    assert {row.kind: row.mass_g for row in became.rows} == {"collected": 1_000}


def test_a_place_sees_what_became_of_its_own_to_the_gram(shop: Workshop) -> None:
    product = mixed_product(shop)
    totals: dict[str, int] = {}
    for place, collected_g in zip(shop.places, (3_000, 1_900), strict=True):
        became = what_became_of(shop.contact(place), place.id)
        assert became.collected_g == collected_g
        assert sum(row.mass_g for row in became.rows) == collected_g
        (part,) = became.products
        assert part.product == product
        assert part.mass_g == grams_by_place(product)[place.id]
        for row in became.rows:
            totals[row.kind] = totals.get(row.kind, 0) + row.mass_g
    assert totals["product"] == 3_200
    assert sum(totals.values()) == 4_900


def test_a_place_that_set_nothing_aside_yet_sees_nothing(shop: Workshop) -> None:
    became = what_became_of(shop.contact(shop.places[0]), shop.places[0].id)
    assert (became.collected_g, became.rows, became.products) == (0, [], [])


def test_a_contact_sees_no_other_place(shop: Workshop) -> None:
    with pytest.raises(NotFound):
        what_became_of(shop.contact(shop.places[0]), shop.places[1].id)


def test_pieces_have_one_passport_and_another_maker_cannot_publish_it(shop: Workshop) -> None:
    product = mixed_product(shop)
    other = make_workshop(shop.story.community)
    with pytest.raises(NotFound):
        passport_of(other, product)
    passport_of(shop, product)
    with pytest.raises(Conflict):
        passport_of(shop, product)
    assert not products_seen_by(other.maker).exists()
    assert products_seen_by(acting(shop.story.community, Role.ORGANISER)).count() == 1


def test_a_charge_that_was_reversed_is_no_recycled_content(shop: Workshop) -> None:
    lot = shop.clean(1_000)
    pigment = services.Additive(name="Pigment", mass_g=100)
    batch = shop.charge((lot, 900), (shop.clean(900), 900), additive=pigment)
    line = Movement.objects.get(reason="charged", from_account__lot=lot)
    reverse_movement(
        shop.maker, movement_id=new_id(), reverses_id=line.id, note="Left out.", at=LATER
    )
    # By hand: 900 of 1000 g, where the rows of the batch still say 1800 of 1900.
    assert story_of(shop.make(batch, 900)).recycled_percent == 90


def test_there_is_no_story_of_pieces_that_were_all_reversed(shop: Workshop) -> None:
    product = shop.make(shop.charge((shop.clean(1_000), 1_000)), 900)
    line = Movement.objects.get(reason="made")
    reverse_movement(
        shop.maker, movement_id=new_id(), reverses_id=line.id, note="Miscounted.", at=LATER
    )
    with pytest.raises(NotFound):
        story_of(product)


# ---- what is it, how much to look at, what must it cost

WATER = LiquidSaid(kind="water")
VODKA = LiquidSaid(kind="ethanol", percent=Decimal(47), by="volume")


def test_a_cap_that_floats_in_water_and_sinks_in_spirit_is_known_once_it_dents(
    shop: Workshop,
) -> None:
    floats = [FloatSaid(liquid=WATER, floated=True), FloatSaid(liquid=VODKA, floated=False)]
    first = identify(shop.maker, evidence=Evidence(float_tests=floats))
    assert first.resins[0].symbol == "PE-HD"
    then = identify(
        shop.maker,
        evidence=Evidence(float_tests=floats, looks={"bend": "dents", "feel": "stiff_and_waxy"}),
    )
    assert (then.decision, then.resin) == ("known", "PE-HD")
    assert then.open_bits < first.open_bits


def test_with_nothing_known_water_or_a_look_is_asked_for_and_never_a_flame(
    shop: Workshop,
) -> None:
    found = identify(shop.maker, evidence=Evidence(item="bottle-cap"))
    assert found.decision == "set_aside"
    bits = [test.bits for test in found.next_tests]
    assert bits == sorted(bits, reverse=True)
    assert "float:water" in {test.code for test in found.next_tests}
    assert "set aside" in found.never
    text = " ".join(test.text for test in found.next_tests).lower()
    assert not any(word in text for word in ("flame", "burn", "smell", "sniff"))


@pytest.mark.parametrize("mark", ["3", "PVC", ">ABS-FR(17)<"])
def test_what_is_marked_dangerous_is_set_aside_whatever_else_is_seen(
    shop: Workshop, mark: str
) -> None:
    found = identify(
        shop.maker,
        evidence=Evidence(mark=mark, float_tests=[FloatSaid(liquid=WATER, floated=True)]),
    )
    assert (found.decision, found.resin) == ("set_aside", "")


def test_the_maker_says_how_sure_it_must_be_for_a_stream(shop: Workshop) -> None:
    stream = shop.story.agreement.stream
    evidence = Evidence(mark="2", looks={"bend": "dents"})
    assert identify(shop.maker, evidence=evidence, stream_id=stream.id).decision == "known"
    services.set_certainty(shop.maker, stream_id=stream.id, certainty_min=Decimal("0.999"))
    strict = identify(shop.maker, evidence=evidence, stream_id=stream.id)
    assert strict.decision == "set_aside"
    assert "99.9%" in strict.why


def test_a_sampling_plan_counts_pieces_and_estimates_grams(shop: Workshop) -> None:
    plan = sampling_plan(
        SamplingQuestion(
            limit=0.05, chance=0.95, item="bottle-cap", whole_g=8_000, looked_at=59, found=0
        )
    )
    # 4000 caps of 2 g are as good as no end of them: 59 or one less (success-run theorem).
    assert plan.whole_pieces == 4_000
    assert plan.whole_is_estimated
    assert plan.pieces in {58, 59}
    assert plan.grams == 2 * plan.pieces
    assert plan.seen is not None
    assert plan.seen.chance_it_would_have_caught >= 0.95
    assert plan.seen.exact_low == 0 < plan.seen.low


def test_the_days_of_a_passport_are_those_of_the_communitys_clock(shop: Workshop) -> None:
    """On Kiritimati, fourteen hours ahead of UTC, the next day has begun by noon UTC."""
    Community.objects.filter(id=shop.story.community.id).update(timezone="Pacific/Kiritimati")
    product = shop.make(shop.charge((shop.clean(1_000), 1_000)), 900)
    passport = services.publish_passport(
        shop.maker, passport_id=new_id(), product_id=product.id, at=LATER
    )
    page = passport_page(passport.slug)
    assert LATER.hour >= 10
    assert page.made_on == page.published_on == (LATER + timedelta(days=1)).date()


def test_a_price_is_in_the_communitys_money_and_a_day_without_a_wage_has_none(
    shop: Workshop,
) -> None:
    question = PriceQuestion(
        day_rate=Decimal(150),
        overhead_per_day=Decimal(40),
        pieces_per_day=Decimal(12),
        yield_share=Decimal("0.9"),
        material=Decimal("0.80"),
        energy_kwh=Decimal(3),
        energy_price_per_kwh=Decimal("0.30"),
        packaging=Decimal("0.60"),
        over_share=Decimal("0.30"),
    )
    found = price(shop.maker, question)
    assert (found.currency, found.unit_cost, found.unit_price) == (
        "GBP",
        Decimal("20.08"),
        Decimal("28.69"),
    )
    for field, change in (
        ("day_rate", {"day_rate": Decimal(0)}),
        ("pieces_per_day", {"pieces_per_day": Decimal(0)}),
        ("stages", {"pieces_per_day": None}),
    ):
        with pytest.raises(NothingPerDay) as refusal:
            price(shop.maker, PriceQuestion(**{**vars(question), **change}))
        assert refusal.value.fields[0].field == field
        assert refusal.value.fields[0].mend


def test_a_price_from_measured_times_names_what_is_slowest(shop: Workshop) -> None:
    stages = [
        StageTime(name="collect", duration_s=3_600, pieces=20),
        StageTime(name="press", duration_s=3_600, pieces=1, is_attended=False),
        StageTime(name="finish", duration_s=900, pieces=1),
    ]
    found = price(shop.maker, PriceQuestion(day_rate=Decimal(120), stages=stages))
    assert (found.pieces_per_day, found.slowest) == (Decimal(8), "press")
    costs = Costs(
        day_rate=Decimal(120),
        overhead_per_day=Decimal(0),
        pieces_per_day=Decimal(8),
        yield_share=Decimal(1),
        material=Decimal(0),
        energy=Decimal(0),
        consumables=Decimal(0),
        packaging=Decimal(0),
    )
    assert found.unit_cost == unit_cost(costs) == Decimal(15)


def test_a_price_sheet_is_kept_for_its_maker_alone(shop: Workshop) -> None:
    services.save_price_sheet(
        shop.maker,
        sheet_id=new_id(),
        maker_id=shop.story.maker.id,
        name="Tray",
        question=PriceQuestion(day_rate=Decimal(120), pieces_per_day=Decimal(8)),
        inputs={"day_rate": "120"},
    )
    assert price_sheets_seen_by(shop.maker).get().result["unit_cost"] == "15.00"
    organiser = acting(shop.story.community, Role.ORGANISER)
    assert not price_sheets_seen_by(organiser).exists()
