"""Quality and people over the API."""

from http import HTTPStatus

import pytest
from django.test import Client

from network.people.models import Role
from tests.factories import member
from tests.services.reports_story import months

pytestmark = pytest.mark.django_db


def test_it_states_each_share_with_its_interval_and_what_it_rests_on() -> None:
    here = months()
    client = Client()
    client.force_login(member(here.community, Role.ORGANISER))
    address = f"/api/v1/communities/{here.community.slug}/reports/quality/"
    answer = client.get(address, {"from": "2025-10-01", "to": "2025-11-30"})
    assert answer.status_code == HTTPStatus.OK, answer.content
    (row,) = answer.json()["places"]
    said = row["contamination"]
    assert said["share"] == pytest.approx(0.06)
    assert said["low"] < said["share"] < said["high"]
    assert (said["looks"], said["is_too_little"]) == (1, True)
    assert answer.json()["participation"]
    refused = client.get(address, {"from": "soon"})
    assert refused.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
