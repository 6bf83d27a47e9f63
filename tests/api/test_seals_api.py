"""Closing a month, and proving a line, over the API."""

import io
from http import HTTPStatus
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from pypdf import PdfReader

from network.lots.models import Movement, Seal
from network.people.models import Role
from tests.api.test_lots_api import address, send, signed_in
from tests.factories import CommunityFactory
from tests.services.lots_story import Story, make_story
from tests.services.reports_story import NOVEMBER, OCTOBER, bring

pytestmark = pytest.mark.django_db


@pytest.fixture
def story() -> Story:
    story = make_story()
    bring(story, story.container, OCTOBER, net_g=8_001)
    return story


@pytest.fixture
def organiser(story: Story) -> Client:
    return signed_in(story, Role.ORGANISER)


def close(client: Client, story: Story, last_day: str = "2025-10-31") -> Any:
    return send(client, story, "seals/", {"last_day": last_day})


def proof(client: Client, story: Story) -> Any:
    line = Movement.objects.filter(community=story.community).earliest("id")
    return client.get(address(story, f"movements/{line.id}/proof/"))


def test_a_month_is_closed_once(story: Story, organiser: Client) -> None:
    made = close(organiser, story)
    assert made.status_code == HTTPStatus.CREATED, made.content
    seal = made.json()
    assert (seal["number"], seal["first_day"], seal["lines"]) == (1, None, 2)
    assert seal["sums_g"] == {"container": -8_001, "collected": 8_001}
    again = close(organiser, story)
    assert (again.status_code, again.json()["code"]) == (HTTPStatus.CONFLICT, "wrong_state")
    (listed,) = organiser.get(address(story, "seals/")).json()["results"]
    assert listed == seal


@pytest.mark.parametrize(
    "last_day", ["2999-01-01", "1999-12-31", "0001-01-01", "soon", "", None, 7]
)
def test_a_day_that_cannot_be_is_refused_by_name(
    story: Story, organiser: Client, last_day: Any
) -> None:
    refused = close(organiser, story, last_day)
    assert refused.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    (error,) = refused.json()["errors"]
    assert error["field"] == "last_day"
    assert error["mend"]
    assert not Seal.objects.exists()


def test_a_proof_that_a_maker_holds_is_checked_by_anybody(story: Story, organiser: Client) -> None:
    maker = signed_in(story, Role.MAKER, story.maker)
    assert proof(maker, story).status_code == HTTPStatus.NOT_FOUND
    lines = address(story, "movements/")
    assert not any(line["sealed"] for line in maker.get(lines).json()["results"])
    close(organiser, story)
    assert all(line["sealed"] for line in maker.get(lines).json()["results"])
    found = proof(maker, story).json()
    assert found["root_hash"] == Seal.objects.get().root
    asked = {name: found[name] for name in ("seal", "index", "line", "path")}
    assert check(story, asked).json() == {"holds": True}
    assert check(story, {**asked, "line": found["line"] + " "}).json() == {"holds": False}
    assert check(story, {**asked, "index": 1 - found["index"]}).json() == {"holds": False}
    assert check(story, {**asked, "index": 2**31 - 1}).json() == {"holds": False}
    assert check(story, {**asked, "seal": 2}).status_code == HTTPStatus.NOT_FOUND


def check(story: Story, asked: dict[str, Any]) -> Any:
    return send(Client(), story, "seal-proofs/check/", asked)


@pytest.mark.parametrize(
    ("part", "value"),
    [
        ("path", ["zz" * 32]),
        ("path", ["00" * 31]),
        ("path", ["00" * 32] * 65),
        ("index", -1),
        ("index", 2**31),
        ("seal", 0),
        ("line", "x" * 50_001),
    ],
)
def test_a_proof_that_cannot_be_is_refused_by_name(
    story: Story, organiser: Client, part: str, value: Any
) -> None:
    close(organiser, story)
    asked = {"seal": 1, "index": 0, "line": "{}", "path": [], part: value}
    refused = check(story, asked)
    assert refused.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    assert refused.json()["errors"][0]["field"].startswith(part)


def test_a_line_says_that_it_counts_later_than_it_was_done(story: Story, organiser: Client) -> None:
    close(organiser, story)
    bring(story, story.container, OCTOBER, net_g=500)
    lines = organiser.get(address(story, "movements/")).json()["results"]
    late = [line for line in lines if line["counts_at"] > line["at"]]
    assert [line["mass_g"] for line in late] == [500, 500]
    answer = organiser.get(address(story, "reports/diverted/"), {"by": "month"})
    rows = {row["month"]: row["late_g"] for row in answer.json()["rows"]}
    assert rows == {"2025-10": 0, "2025-11": 500}


def test_the_paper_is_a_pdf_whatever_the_client_accepts(story: Story, organiser: Client) -> None:
    bring(story, story.container, NOVEMBER, net_g=500)
    for accept in ("application/pdf", "application/json", "*/*"):
        answer = organiser.get(
            address(story, "reports/diverted.pdf"), {"to": "2025-10-31"}, headers={"Accept": accept}
        )
        assert answer.headers["Content-Type"] == "application/pdf"
        assert 'filename="diverted.pdf"' in answer.headers["Content-Disposition"]
        assert len(PdfReader(io.BytesIO(answer.content)).pages) == 4


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ({"place": str(uuid4())}, "place"),
        ({"kind": "school"}, "kind"),
        ({"by": "place"}, "by"),
        ({"from": "yesterday"}, "from"),
        ({"from": "2025-12-01", "to": "2025-11-01"}, "to"),
    ],
)
def test_the_paper_is_of_the_whole_community(
    story: Story, organiser: Client, query: dict[str, str], field: str
) -> None:
    answer = organiser.get(address(story, "reports/diverted.pdf"), query)
    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    assert answer.json()["errors"][0]["field"] == field
    assert answer.json()["errors"][0]["mend"]


def test_a_seal_of_another_community_is_not_there(story: Story, organiser: Client) -> None:
    close(organiser, story)
    other = CommunityFactory.create()
    here = f"/api/v1/communities/{other.slug}/"
    assert organiser.get(f"{here}seals/").status_code == HTTPStatus.FORBIDDEN
    line = Movement.objects.earliest("id")
    stranger = signed_in(make_story(), Role.ORGANISER)
    assert (
        stranger.get(address(story, f"movements/{line.id}/proof/")).status_code
        == HTTPStatus.FORBIDDEN
    )
