"""Lots, the ledger and a place's feedback over the API."""

from http import HTTPStatus
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.test import Client

from network.lots.models import Inspection, Lot, Movement, Scale
from network.people.models import Organisation, Role
from tests.factories import member
from tests.services.lots_story import CLEAN, MORNING, UNRINSED, Story, make_story

pytestmark = pytest.mark.django_db


@pytest.fixture
def story() -> Story:
    return make_story()


@pytest.fixture
def maker(story: Story) -> Client:
    return signed_in(story, Role.MAKER, story.maker)


def signed_in(story: Story, role: Role, organisation: Organisation | None = None) -> Client:
    client = Client()
    client.force_login(member(story.community, role, organisation))
    return client


def address(story: Story, path: str) -> str:
    return f"/api/v1/communities/{story.community.slug}/{path}"


def send(
    client: Client, story: Story, path: str, body: dict[str, Any], key: UUID | None = None
) -> Any:
    return client.post(
        address(story, path),
        body,
        content_type="application/json",
        headers={"Idempotency-Key": str(key or uuid4())},
    )


def balances(answer: Any) -> dict[str, int]:
    return {row["kind"]: row["mass_g"] for row in answer.json()["balances"]}


def scale_body(story: Story, **changes: Any) -> dict[str, Any]:
    body = {"maker_id": str(story.maker.id), "name": "Bench", "max_g": 30_000, "interval_g": 10}
    return {**body, **changes}


def test_a_scale_is_added_as_its_plate_states_it(story: Story, maker: Client) -> None:
    made = send(maker, story, "scales/", scale_body(story))
    assert made.status_code == HTTPStatus.CREATED, made.content
    assert made.json()["for_trade"] is False
    listed = maker.get(address(story, "scales/")).json()["results"]
    assert made.json() in listed
    again = send(maker, story, "scales/", scale_body(story))
    assert again.json()["errors"][0]["field"] == "name"
    wrong = send(maker, story, "scales/", scale_body(story, name="Fine", interval_g=1))
    assert wrong.json()["errors"][0]["field"] == "interval_g"


def test_a_lot_is_weighed_inspected_divided_and_passed_on(story: Story, maker: Client) -> None:
    lot = story.at_home(8_000)
    at_scale = {"gross_g": 8_250, "tare_g": 150, "scale_id": str(story.scale.id)}
    weighed = send(maker, story, f"lots/{lot.id}/weigh/", at_scale)
    assert weighed.status_code == HTTPStatus.CREATED, weighed.content
    assert balances(weighed) == {"collected": 8_100, "container": -8_100}
    assert weighed.json()["weighing"]["net_g"] == 8_100
    assert weighed.json()["weighing"]["expanded_uncertainty_mg"] > 0
    whole = maker.get(address(story, f"lots/{lot.id}/")).json()
    assert [w["stage"] for w in whole["weighings"]] == ["doorstep", "workshop"]
    assert whole["weighings"][1] == weighed.json()["weighing"]
    looked = send(
        maker,
        story,
        f"lots/{lot.id}/inspect/",
        {
            "observation": CLEAN,
            "sample_g": 1_000,
            "findings": [{"kind": "label", "mass_g": 50}],
            "taken_out_g": 100,
        },
    )
    look = looked.json()["inspections"][0]
    assert look["verdict"] == "taken_with_extra_work"
    assert look["contamination"]["low_percent"] < 5 < look["contamination"]["high_percent"]
    split = send(maker, story, f"lots/{lot.id}/split/", {"parts": [{"mass_g": 3_000}]})
    assert split.json()["children"][0]["mass_g"] == 3_000
    for path in ("lose", "pass-on"):
        gone = send(maker, story, f"lots/{lot.id}/{path}/", {"mass_g": 1_000, "note": "Wet."})
        assert gone.status_code == HTTPStatus.CREATED, gone.content
    assert balances(gone) == {
        "collected": 3_000,
        "container": -8_100,
        "loss": 1_000,
        "passed_on": 1_000,
        "residue": 100,
    }
    merged = send(
        maker,
        story,
        "lot-merges/",
        {"lot_ids": [str(lot.id), split.json()["children"][0]["lot"]["id"]]},
    )
    assert balances(merged) == {"collected": 6_000}
    whole = maker.get(address(story, "balances/")).json()
    assert whole["sum_g"] == 0
    assert {row["kind"]: row["mass_g"] for row in whole["rows"]}["collected"] == 6_000


def test_weighings_kept_on_a_device_arrive_together_and_once(story: Story, maker: Client) -> None:
    here, aboard = story.at_home(8_000), story.collect(5_000)[0]

    def weighing(lot_id: object) -> dict[str, Any]:
        mass = {"gross_g": 8_250, "tare_g": 150, "scale_id": str(story.scale.id)}
        return {"id": str(uuid4()), "lot_id": str(lot_id), "at": MORNING.isoformat(), **mass}

    kept = [weighing(here.id), weighing(aboard.id)]
    for _ in range(2):
        sent = send(maker, story, "weighings/batch/", {"weighings": kept})
        assert sent.status_code == HTTPStatus.OK, sent.content
        taken, refused = sent.json()["outcomes"]
        assert taken == {"id": kept[0]["id"], "outcome": "arrived", "code": None, "detail": None}
        assert (refused["outcome"], refused["code"]) == ("refused", "wrong_state")
    assert Movement.objects.filter(reason="reweighed").count() == 1


def test_a_retry_gets_the_first_answer_and_moves_nothing(story: Story, maker: Client) -> None:
    lot, key = story.at_home(8_000), uuid4()
    body = {"mass_g": 500, "note": "Spilt."}
    first = send(maker, story, f"lots/{lot.id}/lose/", body, key)
    again = send(maker, story, f"lots/{lot.id}/lose/", body, key)
    assert again.json() == first.json()
    assert again.headers["Idempotent-Replay"] == "true"
    other = send(maker, story, f"lots/{lot.id}/lose/", {**body, "mass_g": 501}, key)
    assert (other.status_code, other.json()["code"]) == (HTTPStatus.CONFLICT, "different_body")
    assert Movement.objects.filter(reason="lost").count() == 1


def test_a_verdict_that_turns_away_says_why_and_asks_where_to(story: Story, maker: Client) -> None:
    lot = story.at_home(8_000)
    body: dict[str, Any] = {"observation": UNRINSED}
    asked = send(maker, story, f"lots/{lot.id}/inspect/", body)
    assert asked.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    assert asked.json()["errors"][0]["field"] == "turned_away_to"
    assert asked.json()["verdict"]["reasons"][0]["words"].startswith("It was not rinsed.")
    assert not Inspection.objects.exists()
    done = send(maker, story, f"lots/{lot.id}/inspect/", {**body, "turned_away_to": "returned"})
    assert balances(done) == {"container": -8_000, "returned": 8_000}


def test_too_much_is_a_conflict_that_says_how_much_there_is(story: Story, maker: Client) -> None:
    lot = story.at_home(8_000)
    for path, body in (
        ("pass-on", {"mass_g": 8_001}),
        ("split", {"parts": [{"mass_g": 8_000}, {"mass_g": 1}]}),
    ):
        refused = send(maker, story, f"lots/{lot.id}/{path}/", body)
        assert (refused.status_code, refused.json()["code"]) == (HTTPStatus.CONFLICT, "not_enough")
        assert refused.json()["has_g"] == 8_000


def test_a_line_is_undone_by_another(story: Story, maker: Client) -> None:
    lot = story.at_home(8_000)
    send(maker, story, f"lots/{lot.id}/lose/", {"mass_g": 500})
    line = maker.get(address(story, "movements/"), {"reason": "lost"}).json()["results"][0]
    undone = send(maker, story, f"movements/{line['id']}/reverse/", {"note": "Found it."})
    assert undone.status_code == HTTPStatus.CREATED, undone.content
    assert undone.json()["reverses_id"] == line["id"]
    detail = maker.get(address(story, f"lots/{lot.id}/")).json()
    lost = next(row for row in detail["movements"] if row["reason"] == "lost")
    assert lost["reversed_by_id"] == undone.json()["id"]
    twice = send(maker, story, f"movements/{line['id']}/reverse/", {"note": "Again."})
    assert twice.json()["code"] == "wrong_state"


def test_lots_are_found_by_state_place_stream_and_code(story: Story, maker: Client) -> None:
    home, aboard = story.at_home(8_000), story.collect(2_000)[0]
    for query, found in (
        ({"state": "collected"}, [home]),
        ({"state": "vehicle"}, [aboard]),
        ({"state": "residue"}, []),
        ({"place": str(story.agreement.place_id)}, [aboard, home]),
        ({"stream": str(uuid4())}, []),
        ({"q": home.code[2:8]}, [home]),
        ({"q": story.agreement.place.name}, [aboard, home]),
    ):
        listed = maker.get(address(story, "lots/"), query).json()["results"]
        assert [row["id"] for row in listed] == [str(lot.id) for lot in found], query
    of_lot = maker.get(address(story, "movements/"), {"lot": str(aboard.id)}).json()["results"]
    assert [row["reason"] for row in of_lot] == ["collected"]


def test_another_maker_finds_neither_lots_nor_lines(story: Story) -> None:
    lot = story.at_home(8_000)
    line = Movement.objects.get(reason="brought_home")
    rival = make_story(story.community)
    client = signed_in(story, Role.MAKER, rival.maker)
    for path in ("lots/", "movements/"):
        assert client.get(address(story, path)).json()["results"] == []
    assert client.get(address(story, "balances/")).json() == {"rows": [], "sum_g": 0}
    for refused in (
        client.get(address(story, f"lots/{lot.id}/")),
        send(client, story, f"lots/{lot.id}/lose/", {"mass_g": 1}),
        send(client, story, f"movements/{line.id}/reverse/", {"note": "Mine?"}),
    ):
        assert refused.status_code == HTTPStatus.NOT_FOUND
    assert Lot.objects.count() == 1
    assert [row["id"] for row in client.get(address(story, "scales/")).json()["results"]] == [
        str(Scale.objects.get(maker=rival.maker).id)
    ]


def test_a_place_reads_its_feedback(story: Story) -> None:
    story.at_home(8_000)
    contact = signed_in(story, Role.CONTACT, story.agreement.place.organisation)
    read = contact.get(address(story, f"places/{story.agreement.place_id}/feedback/"))
    assert read.status_code == HTTPStatus.OK, read.content
    (visit,) = read.json()["visits"]
    assert visit["mass_g"] == 8_000
    assert visit["lines"][0]["container_tag"] == story.container.tag
    assert read.json()["trend"] == [
        {"month": "2025-10", "mass_g": 8_000, "contamination_percent": None}
    ]
    assert read.json()["next_time"][0]["code"] == "as_it_is"
