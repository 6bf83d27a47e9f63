"""Open data of a community: read by another library, small places protected, quarters alone."""

import json
import zipfile
from datetime import date
from http import HTTPStatus
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from frictionless import Package

from network.errors import InvalidInput, NotAllowed
from network.people.models import Role
from network.reports.open_data import OpenRow, open_data_zip, open_rows
from network.reports.queries import Selection, diverted
from tests.factories import (
    AgreementFactory,
    ContainerFactory,
    DistrictFactory,
    PlaceFactory,
    acting,
    member,
)
from tests.services.lots_story import Story, make_story
from tests.services.reports_story import OCTOBER, bring, months

pytestmark = pytest.mark.django_db

TODAY = date(2026, 1, 1)


def bringing(story: Story, district: Any, masses_g: list[int]) -> None:
    """Let so many places of a district bring something each, in October."""
    for mass_g in masses_g:
        place = PlaceFactory.create(community=story.community, district=district)
        agreement = AgreementFactory.create(
            community=story.community, place=place, rule_version=story.agreement.rule_version
        )
        bring(story, ContainerFactory.create(agreement=agreement), OCTOBER, net_g=mass_g)


@pytest.fixture
def story() -> Story:
    story = make_story()
    north, south, west = (
        DistrictFactory.create(community=story.community, name=name)
        for name in ("North", "South", "West")
    )
    bringing(story, north, [1_000, 2_000])
    bringing(story, south, [3_000] * 5)
    bringing(story, west, [4_000] * 6)
    return story


def rows(story: Story, *, year: int = 2025, today: date = TODAY) -> list[OpenRow]:
    organiser = acting(story.community, Role.ORGANISER)
    return list(open_rows(organiser, community=story.community, year=year, today=today))


def test_a_district_of_two_places_and_one_more_are_withheld(story: Story) -> None:
    found = {(row.district, row.stream == "(all)"): row.diverted_g for row in rows(story)}
    assert found["North", False] is None
    assert found["North", True] is None
    # Else the two places of the north were the total less the rest.
    assert found["South", True] is None
    assert found["West", True] == 24_000
    assert found["(all)", True] == 42_000


def test_what_is_published_is_what_the_report_says(story: Story) -> None:
    organiser = acting(story.community, Role.ORGANISER)
    quarter = Selection(first_day=date(2025, 10, 1), last_day=date(2025, 12, 31))
    whole = diverted(organiser, community=story.community, selection=quarter)
    (total,) = (row for row in rows(story) if (row.district, row.stream) == ("(all)", "(all)"))
    assert total.diverted_g == whole.total.diverted_g
    assert {row.quarter for row in rows(story)} == {"2025-Q4"}


def test_only_quarters_that_are_over_are_given(story: Story) -> None:
    assert rows(story, today=date(2025, 12, 31)) == []
    with pytest.raises(InvalidInput):
        rows(story, year=2026, today=date(2026, 3, 31))
    with pytest.raises(InvalidInput):
        rows(story, year=1)
    with pytest.raises(NotAllowed):
        open_rows(story.maker_actor, community=story.community, year=2025, today=TODAY)


def test_few_places_in_all_publish_nothing() -> None:
    here = months()
    found = open_rows(here.organiser, community=here.community, year=2025, today=TODAY)
    assert found
    assert {row.diverted_g for row in found} == {None}


# It warns of its own dependencies.
@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_a_portal_reads_it_by_its_description(story: Story, tmp_path: Path) -> None:
    """`frictionless`, the standard's own implementation, holds the data against the schema."""
    content = open_data_zip(
        rows(story), community=story.community, year=2025, licence="CC-BY-4.0", made_on=TODAY
    )
    with zipfile.ZipFile(BytesIO(content)) as archive:
        archive.extractall(tmp_path)
    package = Package(str(tmp_path / "datapackage.json"))
    report = package.validate()
    assert report.valid, report.flatten(["type", "message"])
    table, same = package.extract().values()
    read = [(row["district"], row["stream"], row["diverted_kg"], row["withheld"]) for row in table]
    assert read == [
        (row["district"], row["stream"], row["diverted_kg"], row["withheld"]) for row in same
    ]
    west = next(row for row in table if (row["district"], row["stream"]) == ("West", "(all)"))
    assert float(west["diverted_kg"]) == 24
    assert not west["withheld"]
    # And it would say what is wrong.
    (tmp_path / "diverted.csv").write_text(
        "quarter,district,stream,diverted_kg,withheld\nx,y,z,a,b\n"
    )
    assert not Package(str(tmp_path / "datapackage.json")).validate().valid


def test_over_the_api_an_organiser_takes_a_year_along(story: Story) -> None:
    client = Client()
    client.force_login(member(story.community, Role.ORGANISER))
    address = f"/api/v1/communities/{story.community.slug}/reports/open-data.zip"
    answer = client.get(address, {"year": "2025", "licence": "CC0-1.0"})
    assert answer.headers["Content-Type"] == "application/zip"
    with zipfile.ZipFile(BytesIO(answer.content)) as archive:
        package = json.loads(archive.read("datapackage.json"))
    assert package["licenses"][0]["name"] == "CC0-1.0"
    for wrong in ({"year": "2025"}, {"year": "soon", "licence": "CC0-1.0"}, {"licence": "CC0-1.0"}):
        assert client.get(address, wrong).status_code == HTTPStatus.UNPROCESSABLE_ENTITY
