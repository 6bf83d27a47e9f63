"""Bringing in earlier weights over the API: read, mapped, saved, undone."""

import io
from http import HTTPStatus
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from openpyxl import Workbook

from network.people.models import Role
from tests.api.test_lots_api import address, send, signed_in
from tests.services.lots_story import Story, make_story

pytestmark = pytest.mark.django_db


@pytest.fixture
def story() -> Story:
    return make_story()


@pytest.fixture
def organiser(story: Story) -> Client:
    return signed_in(story, Role.ORGANISER)


def workbook(*rows: tuple[Any, ...]) -> io.BytesIO:
    book = Workbook()
    assert book.active is not None
    for row in rows:
        book.active.append(row)
    file = io.BytesIO()
    book.save(file)
    file.seek(0)
    file.name = "old.xlsx"
    return file


def upload(client: Client, story: Story, file: Any) -> Any:
    return client.post(
        address(story, "history-imports/"),
        {"file": file},
        headers={"Idempotency-Key": str(uuid4())},
    )


def columns(story: Story) -> dict[str, Any]:
    return {
        "maker_id": str(story.maker.id),
        "header": 0,
        "day": 0,
        "place": 1,
        "mass": 2,
        "unit": "kg",
        "decimal": ".",
        "day_order": "day_first",
        "saved_as": "estimated",
        "default_stream_id": str(story.agreement.stream_id),
        "places": [{"text": "The Academy", "id": str(story.agreement.place_id)}],
        "streams": [],
    }


def put(client: Client, story: Story, path: str, body: Any) -> Any:
    return client.put(
        address(story, path),
        body,
        content_type="application/json",
        headers={"Idempotency-Key": str(uuid4())},
    )


def test_a_workbook_is_read_mapped_saved_and_undone(story: Story, organiser: Client) -> None:
    file = workbook(("Date", "Site", "Weight (kg)"), ("2019-03-04", "The Academy", 12.5))
    begun = upload(organiser, story, file)
    assert begun.status_code == HTTPStatus.CREATED, begun.content
    found = begun.json()
    assert found["sample"][1] == ["2019-03-04", "The Academy", "12.5"]
    assert (found["columns"]["place"], found["columns"]["mass"]) == (1, 2)
    assert found["preview"] is None
    path = f"history-imports/{found['id']}/"
    answer = put(organiser, story, path, columns(story))
    assert answer.status_code == HTTPStatus.OK, answer.content
    assert [row["mass_g"] for row in answer.json()["preview"]["rows"]] == [12_500]
    saved = send(organiser, story, f"{path}save/", {})
    assert (saved.status_code, saved.json()["status"]) == (HTTPStatus.OK, "saved")
    undone = send(organiser, story, f"{path}undo/", {"note": "The wrong year."})
    assert undone.json()["status"] == "undone"
    assert organiser.get(address(story, path)).json()["status"] == "undone"
    listed = organiser.get(address(story, "history-imports/")).json()["results"]
    assert [one["file_name"] for one in listed] == ["old.xlsx"]


def test_errors_name_row_column_and_mend_and_nothing_is_saved(
    story: Story, organiser: Client
) -> None:
    file = workbook(("date", "place", "kg"), ("soon", "Nowhere", "much"))
    path = f"history-imports/{upload(organiser, story, file).json()['id']}/"
    preview = put(organiser, story, path, columns(story)).json()["preview"]
    assert [(fault["row"], fault["column"]) for fault in preview["errors"]] == [
        (2, "day"),
        (2, "place"),
        (2, "mass"),
    ]
    assert all(fault["mend"] for fault in preview["errors"])
    refused = send(organiser, story, f"{path}save/", {})
    assert (refused.status_code, refused.json()["code"]) == (HTTPStatus.CONFLICT, "wrong_state")
