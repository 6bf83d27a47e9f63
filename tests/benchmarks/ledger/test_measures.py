"""Every fast way says what the plain one says; how much faster is shown by `run.py`."""

from datetime import date

import psycopg
import pytest
from django.db import connection
from psycopg.conninfo import make_conninfo

from network.lots.queries.verifying import differences_of
from network.people.models import Community
from tests.benchmarks.ledger import measures
from tests.benchmarks.ledger.load import load
from tests.benchmarks.ledger.nation import SLUG

pytestmark = pytest.mark.django_db(transaction=True)

MOVEMENTS = 4_000


@pytest.fixture
def database() -> "psycopg.Connection[tuple[object, ...]]":
    ours = connection.settings_dict
    url = make_conninfo(
        host=ours["HOST"], port=ours["PORT"], user=ours["USER"], dbname=ours["NAME"]
    )
    return psycopg.connect(url, password=ours["PASSWORD"] or None)


def test_what_is_fast_says_the_same_as_what_is_plain(
    database: "psycopg.Connection[tuple[object, ...]]",
) -> None:
    with database:
        lines = load(database, movements=MOVEMENTS, seed=1)
        assert lines == pytest.approx(MOVEMENTS, rel=0.05)
        nation = Community.objects.get(slug=SLUG)
        assert list(differences_of(nation)) == []
        for measured in (
            measures.report(nation, rounds=1),
            measures.report(nation, by=(), rounds=1),
            measures.year(nation, first=date(2023, 4, 11), rounds=1),
            measures.cost_of_sums(database, nation, writes=2, rounds=1),
        ):
            assert measured.equal, measured.name
        assert measures.summed_later(database, nation, writes=3)[0] == 6
        assert list(differences_of(nation)) == []
