"""The ledger as EPCIS 2.0 events: valid, read by others, and of the same grams as the ledger."""

import hashlib
import json
from collections import Counter
from collections.abc import Callable
from datetime import UTC, date, datetime
from fractions import Fraction
from pathlib import Path
from typing import Any
from uuid import UUID

import jsonschema
import pytest
from rdflib import Graph

from network.ids import new_id
from network.lots import services as lots
from network.lots.models import Account, Movement
from network.people.core.actor import Actor
from network.people.models import Role
from network.reports.epcis import epcis_document
from network.reports.queries import Selection
from network.workshop.services import Made, Taken
from tests.factories import acting
from tests.services.lots_story import MORNING, UNRINSED
from tests.services.reports_story import months
from tests.services.workshop_story import LATER, Workshop, make_workshop

pytestmark = pytest.mark.django_db

# GS1's own files, which are not ours to give on; how to come by them is in docs/rules/epcis.md.
SCHEMA = (
    "EPCISDocument.schema.json",
    "70b7ecb60eb605c6edd230761557763e4d470333510d28619291476de635bf20",
)
CONTEXT = (
    "epcis-context.jsonld",
    "e532647e8eb371379b8b0e8602d8981c8566bc60f7351f22c76a5bc865962008",
)
NOW = datetime(2025, 12, 1, 12, tzinfo=UTC)
ALL = Selection()
# Everything that Millrace holds, in the words of the ledger.
INSIDE = {"vehicle", "collected", "washed", "sorted", "shredded", "offcut"}


@pytest.fixture
def published(pytestconfig: pytest.Config) -> Callable[[tuple[str, str]], Any]:
    """Read a file of the standard, as it was published, from the folder that holds them."""
    folder = pytestconfig.getoption("--epcis-folder")
    if folder is None:
        pytest.skip("give a folder with the standard's schema and context with --epcis-folder")

    def read(file: tuple[str, str]) -> Any:
        content = (Path(folder) / file[0]).read_bytes()
        assert hashlib.sha256(content).hexdigest() == file[1]
        return json.loads(content)

    return read


@pytest.fixture
def shop() -> Workshop:
    return make_workshop()


def worked(shop: Workshop) -> None:
    """Every kind of line there is, and a few undone."""
    maker, story = shop.maker, shop.story
    first, second = shop.at_home(8_000), shop.at_home(3_000, container=shop.second)
    run = shop.run(
        "wash",
        [Taken(lot_id=first.id, state="collected"), Taken(lot_id=second.id, state="collected")],
        [Made(mass_g=9_000, colour_id=shop.green.id), Made(mass_g=1_000)],
        residue_g=300,
    )
    batch = shop.charge((run.outputs.order_by("-mass_g")[0].lot, 5_000))
    shop.make(batch, 4_000, offcut_g=500, residue_g=20, loss_g=30)
    loose = shop.at_home(2_000)
    parts = lots.split_lot(
        maker, first_id=new_id(), lot_id=loose.id, parts_g=[500, 600], at=MORNING
    )
    whole = lots.merge_lots(maker, lot_id=new_id(), lot_ids=[part.id for part in parts], at=MORNING)
    about: dict[str, Any] = {"lot_id": whole.id, "note": "", "at": LATER}
    lots.pass_on(maker, movement_id=new_id(), mass_g=400, **about)
    lost = lots.record_loss(maker, movement_id=new_id(), mass_g=50, **about)
    lots.reverse_movement(
        maker, movement_id=new_id(), reverses_id=lost.id, note="A slip.", at=LATER
    )
    lots.weigh_again(
        maker,
        weighing_id=new_id(),
        lot_id=shop.at_home(900).id,
        gross_g=1_080,
        tare_g=150,
        scale_id=story.scale.id,
        at=LATER,
    )
    wet = shop.at_home(1_500)
    lots.inspect(
        maker,
        inspection_id=new_id(),
        lot_id=wet.id,
        observation=UNRINSED,
        turned_away_to="returned",
        at=LATER,
    )
    story.collect(777)


def document(shop: Workshop, actor: Actor | None = None, period: Selection = ALL) -> Any:
    community = shop.story.community
    asking = actor or acting(community, Role.ORGANISER)
    return json.loads(
        "".join(epcis_document(asking, community=community, period=period, made_at=NOW))
    )


def events(found: Any) -> list[Any]:
    return list(found["epcisBody"]["eventList"])


def test_the_events_are_valid_by_the_official_schema(
    shop: Workshop, published: Callable[[tuple[str, str]], Any]
) -> None:
    worked(shop)
    found = document(shop)
    checker = jsonschema.Draft7Validator(
        published(SCHEMA), format_checker=jsonschema.FormatChecker()
    )
    assert [error.message for error in checker.iter_errors(found)] == []
    kinds = Counter(event["type"] for event in events(found))
    assert set(kinds) == {"ObjectEvent", "AggregationEvent", "TransformationEvent"}
    ids = [event["eventID"] for event in events(found)]
    assert len(set(ids)) == len(ids)
    # The schema would refuse what is no event.
    broken = {**found, "epcisBody": {"eventList": [{**events(found)[0], "action": "LOST"}]}}
    assert not checker.is_valid(broken)


def test_a_wash_turns_lots_into_lots_and_says_what_is_gone(shop: Workshop) -> None:
    worked(shop)
    (wash,) = (event for event in events(document(shop)) if event["bizStep"] == "millrace:washed")
    assert wash["type"] == "TransformationEvent"
    assert [one["quantity"] for one in wash["inputQuantityList"]] == [8, 3]
    assert sorted(one["quantity"] for one in wash["outputQuantityList"]) == [1, 9]
    assert (wash["millrace:residue_g"], wash["millrace:loss_g"]) == (300, 700)


def test_what_is_collected_begins_and_says_how_its_mass_was_found(shop: Workshop) -> None:
    lot = shop.story.collect(777)[0]
    collected, loaded = events(document(shop))
    assert (collected["action"], collected["bizStep"]) == ("ADD", "collecting")
    assert collected["quantityList"] == [
        {"epcClass": f"urn:uuid:{lot.id}", "quantity": 0.777, "uom": "KGM"}
    ]
    assert collected["millrace:mass_found_by"] == "weighed"
    assert collected["readPoint"] == {"id": f"urn:uuid:{lot.place_id}"}
    assert collected["eventTime"].endswith(collected["eventTimeZoneOffset"])
    assert (loaded["type"], loaded["bizStep"]) == ("AggregationEvent", "loading")
    assert loaded["parentID"] == f"urn:uuid:{shop.story.vehicle_id}"


def held_g(found: list[Any]) -> Counter[str]:
    """Return the grams of each thing, as one who has nothing but the events adds them up."""
    sums: Counter[str] = Counter()

    def add(quantities: list[Any], sign: int) -> None:
        for one in quantities:
            sums[one["epcClass"]] += sign * round(Fraction(str(one["quantity"])) * 1000)

    leaving = ("shipping", "millrace:turned_away")
    for event in found:
        if event["type"] == "TransformationEvent":
            add(event["inputQuantityList"], -1)
            add(event["outputQuantityList"], 1)
        elif event["type"] == "ObjectEvent":
            gone = event["action"] == "DELETE" or event["bizStep"] in leaving
            sign = 1 if event["action"] == "ADD" else -1 if gone else 0
            add(event["quantityList"], sign)
    return Counter({thing: mass_g for thing, mass_g in sums.items() if mass_g})


def ledger_g(shop: Workshop) -> Counter[str]:
    """Return the same by the ledger's balances."""
    sums: Counter[str] = Counter()
    for account in Account.objects.filter(community=shop.story.community, balance_g__gt=0):
        name = account.lot_id if account.kind in INSIDE else account.holder_id
        if account.kind in INSIDE | {"batch", "product"}:
            sums[f"urn:uuid:{name}"] += account.balance_g
    return sums


def test_the_events_alone_add_up_to_what_the_ledger_holds_of_each_thing(shop: Workshop) -> None:
    worked(shop)
    found = held_g(events(document(shop)))
    assert found == ledger_g(shop)
    assert sum(found.values()) > 10_000


def test_it_adds_up_too_where_everything_is_corrected_and_estimated() -> None:
    here = months()
    pieces = epcis_document(here.organiser, community=here.community, period=ALL, made_at=NOW)
    found = events(json.loads("".join(pieces)))
    assert {event.get("millrace:mass_found_by") for event in found} >= {"weighed", "volume"}
    undone = [event["millrace:reverses"] for event in found if "millrace:reverses" in event]
    assert len(undone) == Movement.objects.filter(reason="reversed").count() > 0
    inside = Account.objects.filter(
        community=here.community, kind__in=INSIDE, balance_g__gt=0
    ).values_list("balance_g", flat=True)
    assert sum(held_g(found).values()) == sum(inside)


# The reader itself uses what it calls outdated.
@pytest.mark.filterwarnings("ignore::DeprecationWarning:rdflib.*")
def test_a_reader_of_linked_data_finds_the_same_kilograms(
    shop: Workshop, published: Callable[[tuple[str, str]], Any]
) -> None:
    """rdflib reads JSON-LD 1.1 by GS1's context, and is asked in SPARQL."""
    worked(shop)
    found = document(shop)
    address, own = found["@context"]
    assert address == "https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld"
    graph = Graph()
    graph.parse(
        data=json.dumps({**found, "@context": [published(CONTEXT)["@context"], own]}),
        format="json-ld",
    )
    asked = """
        PREFIX epcis: <https://ref.gs1.org/epcis/>
        SELECT ?event ?step ?thing ?quantity WHERE {
            ?event a epcis:TransformationEvent ; epcis:bizStep ?step ;
                   epcis:outputQuantityList ?one .
            ?one epcis:epcClass ?thing ; epcis:quantity ?quantity .
        }"""
    rows = [{str(k): str(v) for k, v in row.items()} for row in graph.query(asked).bindings]
    read = {(row["event"], row["thing"]): float(row["quantity"]) for row in rows}
    assert read == {
        (event["eventID"], one["epcClass"]): one["quantity"]
        for event in events(found)
        if event["type"] == "TransformationEvent"
        for one in event["outputQuantityList"]
    }
    assert any(row["step"].endswith("/terms/washed") for row in rows)


def test_a_maker_takes_along_its_own_and_a_period_has_its_own_days(shop: Workshop) -> None:
    worked(shop)
    other = make_workshop(shop.story.community)
    lot = other.at_home(4_321)
    mine = json.dumps(document(shop, other.maker))
    assert str(lot.id) in mine
    assert str(shop.story.maker.id) not in mine
    october = Selection(first_day=date(2025, 10, 7), last_day=date(2025, 10, 31))
    assert events(document(shop, period=october)) == []


def test_things_have_names_and_nobody_is_named(shop: Workshop) -> None:
    worked(shop)
    found = document(shop)
    vocabularies = found["epcisHeader"]["epcisMasterData"]["vocabularyList"]
    named = {
        one["id"] for vocabulary in vocabularies for one in vocabulary["vocabularyElementList"]
    }
    lot_ids = set(Account.objects.values_list("lot_id", flat=True))
    assert {f"urn:uuid:{lot_id}" for lot_id in lot_ids} <= named
    people = {line.by_id for line in Movement.objects.all() if isinstance(line.by_id, UUID)}
    assert people
    assert not [person for person in people if str(person) in json.dumps(found)]
