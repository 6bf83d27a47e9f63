"""The workshop over the API: a lot through all of it."""

from http import HTTPStatus
from uuid import uuid4

import pytest
import zxingcpp
from django.test import Client

from network.lots.queries.balances import ledger_faults
from network.people.models import User
from tests.api.workshop_client import Api, heat
from tests.services.workshop_story import Workshop, balances_of, make_workshop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> Workshop:
    return make_workshop()


@pytest.fixture
def api(shop: Workshop) -> Api:
    return Api(shop, shop.maker)


def wash(api: Api, lot_id: object, out_g: int, **more: object) -> str:
    run = api.made(
        "process-runs/",
        {
            "kind": "wash",
            "inputs": [{"lot_id": str(lot_id), "state": "collected"}],
            "outputs": [{"mass_g": out_g, **more}],
            "duration_s": 3_600,
            "water_ml": 40_000,
        },
    )
    return str(run["outputs"][0]["lot"]["id"])


def sea_tray(shop: Workshop) -> dict[str, object]:
    """Return a recipe of three parts of green and one of white."""
    return {
        "maker_id": str(shop.story.maker.id),
        "name": "Sea tray",
        "resin": "PE-HD",
        "mass_g": 4_000,
        "steps": [
            {
                "name": "sheet",
                "share": "1",
                "colours": [
                    {"colour_id": str(shop.green.id), "share": "0.75"},
                    {"colour_id": str(shop.white.id), "share": "0.25"},
                ],
            }
        ],
    }


def prepared(shop: Workshop, api: Api) -> str:
    """Wash two lots, shred one, and charge a batch by a recipe; return the batch."""
    ours, theirs = shop.at_home(6_000), shop.at_home(2_000, container=shop.second)
    green = wash(api, ours.id, 5_700, colour_id=str(shop.green.id))
    wash(api, theirs.id, 1_950, colour_id=str(shop.white.id))
    shredded = api.made(
        "process-runs/",
        {
            "kind": "shred",
            "inputs": [{"lot_id": green, "state": "washed"}],
            "outputs": [{"mass_g": 5_650}],
            "energy_wh": 1_200,
        },
    )
    assert (shredded["loss_g"], shredded["outputs"][0]["colour"]["name"]) == (50, "sea green")
    stock = api.get("stock/")["results"]
    assert {(row["state"], row["mass_g"]) for row in stock} == {
        ("shredded", 5_650),
        ("washed", 1_950),
    }
    recipe = api.made("recipes/", sea_tray(shop))
    mix = api.made(f"recipes/{recipe['id']}/mix/", {})
    assert sum(charge["mass_g"] for charge in mix["mix"]["charges"]) == 4_000
    batch = api.made("batches/", {"name": "One", "recipe_id": recipe["id"]})
    assert {charge["mass_g"] for charge in batch["charges"]} == {3_000, 1_000}
    return str(batch["id"])


def pressed(shop: Workshop, api: Api, batch_id: str) -> None:
    """Press a trial piece by its plan, with its cautions, and write down how it went."""
    plan = api.made("heat-plan/", heat(shop))
    assert plan["set_c"] == 180 == plan["limit_c"]
    assert {"heat", "fumes", "never_burn", "never_pvc", "press", "lifting", "local_codes"} <= {
        caution["code"] for caution in plan["cautions"]
    }
    pressing = api.made("pressings/", {**heat(shop), "batch_id": batch_id, "is_trial": True})
    done = api.made(
        f"pressings/{pressing['id']}/finish/",
        {"outcome": "good", "melted_s": 900, "cooled_s": 800},
    )
    assert (done["outcome"], done["plan"]["set_c"]) == ("good", 180)


def sea_trays(api: Api, batch_id: str) -> dict[str, object]:
    """Return a run of eight trays, with its offcuts."""
    run: dict[str, object] = api.made(
        "products/",
        {
            "batch_id": batch_id,
            "name": "Sea tray",
            "pieces": 8,
            "mass_g": 3_600,
            "offcut_g": 360,
            "loss_g": 40,
        },
    )
    return run


def test_a_lot_goes_all_the_way_to_pieces_and_the_ledger_balances(shop: Workshop, api: Api) -> None:
    batch_id = prepared(shop, api)
    pressed(shop, api, batch_id)
    product = sea_trays(api, batch_id)
    alone = {"pieces": 1, "is_attended": False, "is_whole": True}
    assert api.get(f"products/{product['id']}/times/")["stages"][-2:] == [
        {"name": "melt", "duration_s": 900, **alone},
        {"name": "press", "duration_s": 800, **alone},
    ]
    balances = balances_of(shop.story.community.id)
    assert balances == {
        "container": -8_000,
        "loss": 300 + 50 + 50 + 40,
        "shredded": 2_650,
        "washed": 950,
        "offcut": 360,
        "product": 3_600,
    }
    assert sum(balances.values()) == 0
    assert not ledger_faults()


def test_the_passport_of_the_pieces_has_the_ledgers_shares_and_the_place_sees_its_own(
    shop: Workshop, api: Api
) -> None:
    product = sea_trays(api, prepared(shop, api))
    story = api.get(f"products/{product['id']}/story/")
    assert sum(origin["mass_g"] for origin in story["origins"]) == 3_600 == story["ledger_g"]
    published = api.made(f"products/{product['id']}/passport/", {})
    public = Client().get(f"/api/v1/passports/{published['slug']}/")
    assert public.status_code == HTTPStatus.OK
    assert public.json() == published
    assert [o["percent"] for o in published["story"]["origins"]] == ["100.0"]
    assert published["story"]["custody"] == "segregated"
    assert api.get("products/")["results"][0]["passport_slug"] == published["slug"]

    place = shop.places[1]
    became = Api(shop, shop.contact(place)).get(f"places/{place.id}/became/")
    assert became["collected_g"] == 2_000 == sum(row["mass_g"] for row in became["rows"])
    assert became["products"] == [
        {
            "name": "Sea tray",
            "pieces": 8,
            "made_at": product["made_at"],
            "passport_slug": published["slug"],
            "mass_g": 900,
        }
    ]


def test_a_passport_names_no_person_and_no_place(shop: Workshop, api: Api) -> None:
    lot = shop.clean(1_000)
    product = shop.make(shop.charge((lot, 1_000)), 900)
    published = api.send(f"products/{product.id}/passport/", {}).content.decode()
    for user in User.objects.all():
        assert user.name not in published
        assert user.email not in published
    for place in shop.places:
        assert place.name not in published
        assert place.organisation.name not in published
    assert "mass_g" not in str(api.made("identify/", {}))
    public = Client().get(f"/api/v1/passports/{product_slug(api)}/").json()
    assert all("mass_g" not in origin for origin in public["story"]["origins"])


def product_slug(api: Api) -> str:
    return str(api.get("products/")["results"][0]["passport_slug"])


def test_the_code_of_a_passport_leads_to_its_page(shop: Workshop, api: Api) -> None:
    product = shop.make(shop.charge((shop.clean(1_000), 1_000)), 900)
    slug = api.made(f"products/{product.id}/passport/", {})["slug"]
    code = Client().get(f"/api/v1/passports/{slug}/code/")
    assert (code.status_code, code["Content-Type"]) == (200, "image/svg+xml")
    drawing = code.content.decode()
    assert read_code(drawing) == f"http://testserver/#/passport/{slug}"
    assert 'xmlns="http://www.w3.org/2000/svg"' in drawing  # else no browser shows it as a picture
    assert Client().get("/api/v1/passports/no-such-one/code/").status_code == 404
    assert Client().get("/api/v1/passports/no-such-one/").status_code == 404


def read_code(svg: str) -> str:
    """Read a QR code from the strokes of its SVG, as segno draws it: one path of level lines."""
    import re

    import numpy as np

    size = int(re.search(r'viewBox="0 0 (\d+)', svg).group(1))  # type: ignore[union-attr]
    pixels = np.full((size + 8, size + 8), 255, np.uint8)
    x, y = 0.0, 0.0
    path = re.search(r' d="([^"]+)"', svg).group(1)  # type: ignore[union-attr]
    for command, numbers in re.findall(r"([Mmh])([-0-9. ]+)", path):
        values = [float(n) for n in re.findall(r"-?[0-9.]+", numbers)]
        if command == "M":
            x, y = values
        elif command == "m":
            x, y = x + values[0], y + values[1]
        else:
            row = int(y) + 4
            pixels[row, int(x) + 4 : int(x + values[0]) + 4] = 0
            x += values[0]
    image = np.kron(pixels, np.ones((6, 6), np.uint8))
    return str(zxingcpp.read_barcodes(image)[0].text)


def test_a_recipe_that_cannot_be_served_is_refused_with_the_nearest(
    shop: Workshop, api: Api
) -> None:
    shop.clean(500)
    recipe = api.made(
        "recipes/",
        {
            "maker_id": str(shop.story.maker.id),
            "name": "Too much",
            "resin": "PE-HD",
            "mass_g": 900,
            "steps": [
                {
                    "name": "all",
                    "share": "1",
                    "colours": [{"colour_id": str(shop.green.id), "share": "1"}],
                }
            ],
        },
    )
    problem = api.refused("batches/", {"name": "One", "recipe_id": recipe["id"]})
    assert problem["code"] == "cannot_serve"
    assert problem["nearest"][0]["mass_g"] == 500
    assert api.made(f"recipes/{recipe['id']}/mix/", {})["mix"] is None
    assert api.refused("batches/", {"name": "None"})["errors"][0]["field"] == "charges"


def test_a_process_sent_again_happens_once(shop: Workshop, api: Api) -> None:
    lot = shop.at_home(500)
    body = {
        "kind": "wash",
        "inputs": [{"lot_id": str(lot.id), "state": "collected", "mass_g": 200}],
        "outputs": [{"mass_g": 200}],
    }
    key = str(uuid4())
    first = api.send("process-runs/", body, key=key)
    again = api.send("process-runs/", body, key=key)
    assert first.json() == again.json()
    assert len(api.get("process-runs/")["results"]) == 1


def test_nothing_of_another_makers_workshop_is_seen(shop: Workshop, api: Api) -> None:
    other = make_workshop(shop.story.community)
    elsewhere = make_workshop()
    for theirs in (other, elsewhere):
        batch = theirs.charge((theirs.clean(1_000), 1_000))
        product = theirs.make(batch, 900)
        for path in (f"batches/{batch.id}/", f"products/{product.id}/story/"):
            assert api.client.get(api.root + path).status_code == HTTPStatus.NOT_FOUND
        assert api.send(f"products/{product.id}/passport/", {}).status_code == 404
        problem = api.refused("heat-plan/", heat(theirs))
        assert problem["errors"][0]["field"] == "press_id"
    for path in ("colours", "process-runs", "recipes", "batches", "presses", "products", "stock"):
        names = {row.get("maker", {}).get("id") for row in api.get(f"{path}/")["results"]}
        assert names <= {str(shop.story.maker.id), None}, path
    assert not api.get("stock/")["results"]
