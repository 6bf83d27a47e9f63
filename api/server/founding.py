"""Founding a community from the command line: whoever runs the server decides who organises it."""

import argparse
from typing import TYPE_CHECKING

from api.server.progress import give_up, say
from network.errors import MillraceError

if TYPE_CHECKING:  # models need the settings, which the command finds first
    from network.people.models import User


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Name what a community is founded with."""
    parser.add_argument("slug", help="its part of an address, such as tamsin-isle")
    parser.add_argument("--name", required=True, help="as people call it")
    parser.add_argument("--organiser", required=True, metavar="EMAIL", help="its first organiser")
    parser.add_argument("--timezone", required=True, help="such as Europe/London")
    parser.add_argument("--country", required=True, help="two letters, for public holidays")
    parser.add_argument("--subdivision", default="", help="part of the country, such as ENG")
    parser.add_argument("--currency", required=True, help="three letters, such as GBP")
    parser.add_argument("--longitude", type=float, required=True, help="of its middle, degrees")
    parser.add_argument("--latitude", type=float, required=True, help="of its middle, degrees")
    parser.add_argument(
        "--invited-only", action="store_true", help="let nobody register without an invitation"
    )


def found(options: argparse.Namespace) -> None:
    """Found the community, and print its organiser's first way in."""
    from network.people.services import sign_in_link_token

    try:
        organiser = _found(options)
    except MillraceError as refusal:
        told = [f"{fault.field}: {fault.detail} {fault.mend}" for fault in refusal.fields]
        raise give_up("; ".join(told) or refusal.detail) from None
    say(f"{options.name} is founded. Its organiser signs in, once and within a day, at")
    say(f"    ADDRESS/#/sign-in/{sign_in_link_token(organiser)}")
    say("where ADDRESS is where people reach this server, such as http://localhost:8000")


def _found(options: argparse.Namespace) -> "User":
    from django.db import transaction

    from network.people.services import add_person, create_community

    with transaction.atomic():
        organiser = add_person(email=options.organiser)
        create_community(
            organiser=organiser,
            slug=options.slug,
            name=options.name,
            timezone_name=options.timezone,
            country=options.country,
            subdivision=options.subdivision,
            currency=options.currency,
            longitude=options.longitude,
            latitude=options.latitude,
            open_to_registration=not options.invited_only,
        )
    return organiser
