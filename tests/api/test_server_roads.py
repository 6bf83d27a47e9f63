"""Whoever runs a server brings a community's roads, and is told who is off them."""

import json
from pathlib import Path

import pytest

from api.server import cli, roads
from network.pickups.models import Roads
from tests.core.road_graphs import collection, feature
from tests.services.pickups_story import Round, make_round

pytestmark = pytest.mark.django_db


@pytest.fixture
def world() -> Round:
    return make_round()


def bring(world: Round, file: Path, *more: str) -> None:
    words = ["roads", f"--community={world.community.slug}", "--source=The council", *more]
    # The command's own database is left out: the test's is there already.
    roads.bring(cli._parser().parse_args([*words, str(file)]))


def written(folder: Path, data: object) -> Path:
    file = folder / "roads.geojson"
    file.write_text(json.dumps(data), encoding="utf-8")
    return file


def test_what_is_brought_is_told_with_who_is_off_it(
    world: Round, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    far = world.add_place(latitude=45.02)
    lines = [
        feature([[-30.01, 45.0], [-29.9, 45.0]], highway="residential"),
        feature([[-29.0, 45.0], [-29.0, 45.01]], highway="residential"),
    ]
    bring(world, written(tmp_path, collection(lines)), "--as-of=2026-03-12")
    said = capsys.readouterr().out
    # 0.11 degrees of the parallel of 45 degrees north, on a sphere of 6,371 km.
    assert "8.6 km of road are read" in said
    assert "1.1 km are left out" in said
    assert "1 of 5 places are off the roads" in said
    assert far.name in said
    kept = Roads.objects.get(community=world.community)
    assert (kept.source, str(kept.as_of)) == ("The council", "2026-03-12")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("no JSON", "is no GeoJSON"),
        ('{"type": NaN}', "is no GeoJSON"),
        ("{}", "is no GeoJSON FeatureCollection"),
        (json.dumps(collection([])), "no line with a `highway`"),
    ],
)
def test_a_file_that_is_no_road_map_is_refused(
    world: Round, tmp_path: Path, text: str, told: str
) -> None:
    file = tmp_path / "roads.geojson"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(SystemExit) as end:
        bring(world, file)
    assert told in str(end.value.code)
    assert not Roads.objects.exists()


def test_a_file_that_is_not_there_is_told(world: Round, tmp_path: Path) -> None:
    with pytest.raises(SystemExit) as end:
        bring(world, tmp_path / "none.geojson")
    assert "cannot be read" in str(end.value.code)
