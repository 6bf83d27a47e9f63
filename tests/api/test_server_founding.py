"""Whoever runs a server founds a community on it, with a way in for its organiser."""

import pytest
from django.test import Client

from api.server import cli, founding
from network.people.models import Community, User

pytestmark = pytest.mark.django_db

WORDS = [
    "found",
    "tarn-vale",
    "--name=Tarn Vale",
    "--organiser=desk@tarn.example",
    "--country=GB",
    "--longitude=-30.5",
    "--latitude=45.1",
]


def found(*more: str) -> None:
    # The command's own database is left out: the test's is there already.
    options = cli._parser().parse_args([*WORDS, *more])
    founding.found(options)


def test_the_organisers_link_signs_in_to_the_community_that_was_founded(
    capsys: pytest.CaptureFixture[str], client: Client
) -> None:
    found("--timezone=Europe/London", "--currency=GBP")

    said = capsys.readouterr().out
    token = said.split("/#/sign-in/")[1].split()[0]
    answer = client.post("/api/v1/session/link/", {"token": token}, content_type="application/json")
    (held,) = answer.json()["memberships"]
    assert (held["role"], held["community"]["slug"]) == ("organiser", "tarn-vale")


def test_particulars_that_cannot_be_are_named_and_nothing_is_kept(
    capsys: pytest.CaptureFixture[str],
) -> None:
    with pytest.raises(SystemExit) as end:
        found("--timezone=Middle/Earth", "--currency=pounds")

    told = str(end.value.code) + capsys.readouterr().err
    assert "timezone" in told
    assert "currency" in told
    assert not Community.objects.exists()
    assert not User.objects.exists()
