"""The balance of the flow over the API."""

from http import HTTPStatus

import pytest
from django.test import Client

from network.people.models import Role
from tests.factories import member
from tests.services.reports_story import Months, months

pytestmark = pytest.mark.django_db


@pytest.fixture
def here() -> Months:
    return months()


@pytest.fixture
def organiser(here: Months) -> Client:
    client = Client()
    client.force_login(member(here.community, Role.ORGANISER))
    return client


def address(here: Months, end: str = "/") -> str:
    return f"/api/v1/communities/{here.community.slug}/reports/balance{end}"


def test_the_balance_has_its_stocks_its_points_with_their_methods_and_its_picture(
    here: Months, organiser: Client
) -> None:
    answer = organiser.get(address(here), {"from": "2025-10-01", "to": "2025-10-31"})
    assert answer.status_code == HTTPStatus.OK, answer.content
    report = answer.json()
    whole = report["balance"]
    assert whole["collected_g"] + whole["opening_g"] == whole["gone_g"] + whole["closing_g"]
    assert whole["difference_g"] == 0
    assert [point["point"] for point in report["points"]] == [
        "collected",
        "accepted",
        "entering",
        "products",
    ]
    assert all(point["method"]["statement"] for point in report["points"])
    assert report["points"][1]["uncertainty"]["expanded_g"] > 0
    assert report["coverage"]["estimated_g"] > 0
    assert report["picture"]["bands"][0]["source_name"] == "collected"


def test_it_narrows_to_a_stream_and_refuses_what_is_none(here: Months, organiser: Client) -> None:
    stream = here.second.agreement.rule_version.stream
    found = organiser.get(address(here), {"stream": str(stream.id)}).json()
    assert [one["stream"]["id"] for one in found["streams"]] == [str(stream.id)]
    assert found["balance"]["collected_g"] == 2_003
    answer = organiser.get(address(here), {"stream": "caps"})
    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY


@pytest.mark.parametrize("end", [".csv", ".xlsx"])
def test_it_can_be_taken_along(here: Months, organiser: Client, end: str) -> None:
    answer = organiser.get(address(here, end))
    assert answer.status_code == HTTPStatus.OK
    assert f"balance{end}" in answer["Content-Disposition"]
    assert answer.content
