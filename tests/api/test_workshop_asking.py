"""What the workshop is asked over the API, and what it refuses."""

from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from network.people.models import Role
from network.workshop.cautions import Caution
from tests.api.workshop_client import Api, heat
from tests.factories import member
from tests.services.workshop_story import Workshop, make_workshop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> Workshop:
    return make_workshop()


@pytest.fixture
def api(shop: Workshop) -> Api:
    return Api(shop, shop.maker)


REFUSALS = [
    ({"set_c": 190}, "too_hot", "set_c"),
    ({"resin": "PVC"}, "incompatible_resin", "resin"),
    ({"pressure_kpa": 5_000}, "beyond_press", "pressure_kpa"),
    ({"set_c": 120}, "invalid_input", "set_c"),
]


@pytest.mark.parametrize(("change", "code", "field"), REFUSALS)
def test_limits_are_refused_by_a_code_with_field_and_mend(
    shop: Workshop, api: Api, change: dict[str, object], code: str, field: str
) -> None:
    problem = api.refused("heat-plan/", heat(shop, **change))
    assert problem["code"] == code
    assert problem["errors"][0]["field"] == field
    assert problem["errors"][0]["mend"]


def test_a_price_is_told_kept_and_refused_for_a_day_without_a_wage(
    shop: Workshop, api: Api
) -> None:
    question = {
        "day_rate": "150",
        "overhead_per_day": "40",
        "pieces_per_day": "12",
        "yield_share": "0.9",
        "material": "0.80",
        "energy_kwh": "3",
        "energy_price_per_kwh": "0.30",
        "packaging": "0.60",
        "over_share": "0.30",
        "piece_mass_g": 450,
        "new_material_per_kg": "1.80",
    }
    told = api.made("price/", question)
    assert (told["unit_cost"], told["unit_price"], told["currency"]) == ("20.08", "28.69", "GBP")
    assert told["new_material"] == "0.90"
    assert told["moves"][0]["name"] == "yield_share"
    kept = api.made(
        "price-sheets/",
        {**question, "maker_id": str(shop.story.maker.id), "name": "Tray"},
    )
    assert kept["result"] == told
    assert api.get("price-sheets/")["results"] == [kept]
    problem = api.refused("price/", {**question, "day_rate": "0"})
    assert (problem["code"], problem["errors"][0]["field"]) == ("nothing_per_day", "day_rate")


def test_anyone_may_ask_what_a_piece_is_and_is_never_sent_to_a_flame(shop: Workshop) -> None:
    anyone = Api(shop)
    tests = anyone.get("identify/")
    assert {look["slug"] for look in tests["looks"]} == {"bend", "feel", "forming"}
    assert all(liquid["caution"] for liquid in tests["liquids"] if liquid["adults_only"])
    found = anyone.made(
        "identify/",
        {
            "mark": "2",
            "bend": "dents",
            "float_tests": [{"liquid": {"kind": "water"}, "floated": True}],
        },
    )
    assert (found["decision"], found["resin"]) == ("known", "PE-HD")
    assert sum(one["probability"] for one in found["resins"]) == pytest.approx(1)
    wrong = {"kind": "brine", "percent": "60"}
    problem = anyone.refused("identify/", {"float_tests": [{"liquid": wrong, "floated": True}]})
    assert problem["errors"][0]["field"] == "float_tests[0].liquid"


def test_a_batch_mixed_by_hand_says_what_to_be_wary_of(shop: Workshop, api: Api) -> None:
    caps = shop.clean(600, melt_flow=Decimal("2.0"), melt_flow_condition="190/2.16")
    other = shop.clean(400, resin="PP", forming="blow")
    charges = [
        {"lot_id": str(lot.id), "state": "washed", "mass_g": grams}
        for lot, grams in ((caps, 600), (other, 400))
    ]
    batch = api.made("batches/", {"name": "By hand", "charges": charges})
    assert batch["flow"]["flow"] is None
    assert batch["flow"]["blown_share"] == pytest.approx(0.4)
    codes = {warning["code"] for warning in batch["flow"]["warnings"]}
    assert codes == {"immiscible", "unknown_part", "blown"}
    assert api.get(f"batches/{batch['id']}/") == batch


def test_each_step_of_the_work_has_its_cautions_and_none_is_left_unsaid() -> None:
    steps = Client().get("/api/v1/workshop-cautions/").json()
    said = {step["step"]: {one["code"] for one in step["cautions"]} for step in steps}
    assert {"never_burn", "never_pvc"} <= said["identify"]
    assert {"heat", "fumes", "press", "lifting", "local_codes"} <= said["press"]
    assert "dust" in said["finish"]
    assert set().union(*said.values()) == {caution.value for caution in Caution}
    assert all(one["text"] for step in steps for one in step["cautions"])


def test_how_much_to_look_at_is_told_for_a_chance(api: Api) -> None:
    plan = api.made("sampling-plan/", {"limit": 0.05, "chance": 0.95, "item": "bottle-cap"})
    assert (plan["pieces"], plan["grams"], plan["seen"]) == (59, 118, None)
    assert api.refused("sampling-plan/", {"limit": 0})["errors"][0]["field"] == "limit"


def test_a_photo_with_a_card_finds_the_makers_own_colour(shop: Workshop, api: Api) -> None:
    maker_id = str(shop.story.maker.id)
    card = {"rgb": [119, 119, 119]}

    def match_of(spread: int) -> Any:
        sample = {"rgb": [60.5, 160, 150], "spread": [spread] * 3}
        return api.made(
            "colour-match/", {"maker_id": maker_id, "photo": {"sample": sample, "card": card}}
        )

    match = match_of(2)
    assert match["near"][0]["colour"]["name"] == "sea green"
    assert match["is_clear"]
    assert match["uncertainty"] > 0
    blurred = match_of(60)
    assert blurred["uncertainty"] > match["uncertainty"]
    assert not blurred["is_clear"]
    typed = api.made("colour-match/", {"maker_id": maker_id, "lab": ["95", "0", "2"]})
    assert (typed["uncertainty"], typed["near"][0]["difference"]) == (None, 0)
    assert api.refused("colour-match/", {"maker_id": maker_id})["errors"]


def test_a_colour_is_measured_anew(shop: Workshop, api: Api) -> None:
    path = f"colours/{shop.green.id}/"
    measured = api.made(path, {"lab": ["48.5", "-37", "15.25"]}, "put")
    assert measured["lab"] == ["48.50", "-37.00", "15.25"]
    assert api.refused(path, {"lab": ["101", "0", "0"]}, "put")["errors"][0]["field"] == "lab"


def test_what_a_lot_is_made_of_is_said_and_read(shop: Workshop, api: Api) -> None:
    lot = shop.at_home(500)
    assert api.get(f"lots/{lot.id}/material/")["resin"] == "PE-HD"
    said = api.made(
        f"lots/{lot.id}/material/",
        {
            "resin": "PP",
            "colour_id": str(shop.white.id),
            "melt_flow": "4.5",
            "melt_flow_condition": "230/2.16",
        },
        "put",
    )
    assert said == api.get(f"lots/{lot.id}/material/")
    assert (said["resin"], said["melt_flow"]) == ("PP", "4.500")
    problem = api.refused(f"lots/{lot.id}/material/", {"melt_flow": "4.5"}, "put")
    assert problem["errors"][0]["field"] == "melt_flow"


def test_the_limits_are_read_by_makers_and_set_by_those_they_belong_to(
    shop: Workshop, api: Api
) -> None:
    organiser = Client()
    organiser.force_login(member(shop.story.community, Role.ORGANISER))
    assert api.get("heat-limit/") == {"set_c_max": 180}
    assert api.send("heat-limit/", {"set_c_max": 150}, "put").status_code == 403
    over = Api(shop)
    over.client = organiser
    assert over.made("heat-limit/", {"set_c_max": 150}, "put") == {"set_c_max": 150}
    assert api.refused("heat-plan/", heat(shop))["code"] == "too_hot"
    stream = shop.story.agreement.stream
    assert api.get(f"streams/{stream.id}/certainty/") == {"certainty_min": "0.900"}
    changed = api.made(f"streams/{stream.id}/certainty/", {"certainty_min": "0.95"}, "put")
    assert changed == {"certainty_min": "0.950"}


def test_yields_are_told_with_what_may_be_promised(shop: Workshop, api: Api) -> None:
    told = api.get("yields/", maker=str(shop.story.maker.id), mass_g="10000", kinds="wash,shred")
    assert {one["kind"] for one in told["yields"]} == {"wash", "delabel", "sort", "shred"}
    assert told["promise"]["promised_g"] < told["promise"]["expected_g"] < 10_000


def test_what_the_workshop_says_is_said_in_german_as_well(shop: Workshop, api: Api) -> None:
    german = {"Accept-Language": "de", "Idempotency-Key": str(uuid4())}
    asked: dict[str, Any] = {"content_type": "application/json", "headers": german}
    plan = api.client.post(f"{api.root}heat-plan/", heat(shop), **asked).json()
    english = api.made("heat-plan/", heat(shop))
    for name in ("notes", "trial", "cautions"):
        pairs = list(zip(plan[name], english[name], strict=True))
        assert pairs
        assert all(said != known for said, known in pairs)
    refusal = api.client.post(f"{api.root}heat-plan/", heat(shop, pressure_kpa=5_000), **asked)
    assert "ausgelegt" in refusal.json()["errors"][0]["detail"]
    items = api.client.get("/api/v1/items/", headers={"Accept-Language": "de"}).json()
    assert "Verschlusskappe" in {item["name"] for item in items}
