"""Resins, items, streams and rules over the API."""

from http import HTTPStatus
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from network.materials.core.rules_data import rules_to_data
from network.people.models import Organisation, Role
from tests.factories import CAP_RULES, MakerFactory, StreamFactory, member

pytestmark = pytest.mark.django_db
RULES = rules_to_data(CAP_RULES)


@pytest.fixture
def maker() -> Organisation:
    organisation: Organisation = MakerFactory.create(community__slug="isle")
    return organisation


@pytest.fixture
def signed_in(maker: Organisation) -> Client:
    client = Client()
    client.force_login(member(maker.community, Role.MAKER, maker))
    return client


def write(client: Client, path: str, body: object, method: str = "post", *, key: str = "") -> Any:
    return getattr(client, method)(
        f"/api/v1/communities/isle/streams/{path}",
        body,
        content_type="application/json",
        headers={"Idempotency-Key": key or str(uuid4())},
    )


def new_stream(maker: Organisation, **particulars: object) -> dict[str, object]:
    return {
        "maker_id": str(maker.id),
        "name": "Caps",
        "summary": "Rinsed caps.",
        "reach_m": 9_000,
        "rules": RULES,
        **particulars,
    }


def test_every_figure_is_shown_with_its_source() -> None:
    for path in ("resins", "items"):
        things = Client().get(f"/api/v1/{path}/").json()
        figures = [figure for thing in things for figure in thing["figures"]]
        assert figures
        assert all(figure["source"] and figure["unit"] for figure in figures)
    # ASTM D7611: code 2 is HDPE; its density as in Duis & Coors (2016), Table 1.
    (hdpe,) = [r for r in Client().get("/api/v1/resins/").json() if r["code"] == 2]
    (density,) = [f for f in hdpe["figures"] if f["quantity"] == "density"]
    assert (hdpe["symbol"], density["low"], density["high"]) == ("PE-HD", "0.94", "0.98")


def test_a_maker_publishes_a_stream_and_everybody_reads_it(
    maker: Organisation, signed_in: Client
) -> None:
    made = write(signed_in, "", new_stream(maker))
    assert made.status_code == HTTPStatus.CREATED, made.content
    assert made.json()["maker"] == {"id": str(maker.id), "name": maker.name}
    assert made.json()["rule_version"]["number"] == 1
    assert made.json()["rule_version"]["rules"] == RULES
    listed = Client().get("/api/v1/communities/isle/streams/").json()["results"]
    assert listed == [made.json()]


def test_streams_are_filtered_by_their_maker(maker: Organisation, signed_in: Client) -> None:
    write(signed_in, "", new_stream(maker))
    other = MakerFactory.create(community=maker.community)
    url = "/api/v1/communities/isle/streams/"
    for of, count in ((maker, 1), (other, 0)):
        assert len(Client().get(url, {"maker": str(of.id)}).json()["results"]) == count
    wrong = Client().get(url, {"maker": "me"})
    assert wrong.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    assert wrong.json()["errors"][0]["field"] == "maker"


def test_a_stream_is_changed_and_its_rules_get_a_next_version(
    maker: Organisation, signed_in: Client
) -> None:
    stream = write(signed_in, "", new_stream(maker)).json()["id"]
    changed = write(signed_in, f"{stream}/", {"open_to_places": False}, "patch")
    assert changed.json()["open_to_places"] is False
    body = {"rules": {**RULES, "smallest_g": 500}, "note": "Less is worth a trip."}
    # By a device whose clock is years behind.
    early = "00000000-0000-7000-8000-000000000001"
    version = write(signed_in, f"{stream}/rule-versions/", body, key=early)
    assert (version.status_code, version.json()["number"]) == (HTTPStatus.CREATED, 2)
    url = f"/api/v1/communities/isle/streams/{stream}/"
    assert signed_in.get(url).json()["rule_version"] == version.json()
    versions = signed_in.get(f"{url}rule-versions/").json()["results"]
    assert [v["number"] for v in versions] == [2, 1]
    first = signed_in.get(f"{url}rule-versions/?page_size=1").json()
    after = signed_in.get(first["next"]).json()
    assert [v["number"] for v in after["results"]] == [1]
    assert Client().get(url).status_code == HTTPStatus.NOT_FOUND


def test_each_fault_of_the_rules_is_named_with_its_mend(
    maker: Organisation, signed_in: Client
) -> None:
    rules = {**RULES, "resins": ["PVC", "HDPE"], "contamination_clean_max": "2 %"}
    refused = write(signed_in, "", new_stream(maker, rules=rules))
    assert refused.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    errors = {error["field"]: error["mend"] for error in refused.json()["errors"]}
    assert set(errors) == {
        "rules.resins[0]",
        "rules.resins[1]",
        "rules.contamination_clean_max",
    }
    assert all(errors.values())


def test_a_verdict_says_what_to_do_instead(maker: Organisation, signed_in: Client) -> None:
    stream = write(signed_in, "", new_stream(maker)).json()["id"]
    answer = Client().post(
        f"/api/v1/communities/isle/streams/{stream}/evaluate/",
        {"stage": "doorstep", "observation": {"resins": ["PE-HD", "PVC"], "unmet": ["dry"]}},
        content_type="application/json",
    )
    assert answer.status_code == HTTPStatus.OK, answer.content
    judged = answer.json()
    assert judged["verdict"] == "turned_away"
    assert [reason["outcome"] for reason in judged["reasons"]] == [
        "turned_away",
        "taken_with_extra_work",
    ]
    assert all(reason["words"] and reason["next_time"] for reason in judged["reasons"])
    assert "states.rinsed" in judged["unknown"]


def test_a_stream_of_another_community_is_not_there(maker: Organisation, signed_in: Client) -> None:
    other = StreamFactory.create()
    url = f"/api/v1/communities/isle/streams/{other.id}/"
    assert signed_in.get(url).status_code == HTTPStatus.NOT_FOUND
    assert write(signed_in, f"{other.id}/", {"name": "Mine"}, "patch").status_code == 404
