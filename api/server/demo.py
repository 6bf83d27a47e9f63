"""The invented isle: seeded once, with a way in for each of its three people."""

from django.conf import settings

from api.server.progress import say, say_detail, step
from network.demo.seed import seed_demo
from network.demo.visitors import visitors
from network.people.services import sign_in_link_token


def seed() -> None:
    """Fill the database with the invented scenario, unless it holds it already."""
    with step("Seeding Tamsin Isle (once; its data is kept)"):
        seed_demo(progress=say_detail)


def say_who_can_sign_in(address: str) -> None:
    """Print a link for each of the three people, which signs in once, within a day."""
    say("Sign in as one of three people; each link works once:")
    for person, work in visitors():
        say(f"  {person}, who {work}:")
        say(f"    {address}/#/sign-in/{sign_in_link_token(person)}")
    if not settings.EMAIL_HOST:
        say(f"What would be mailed is kept in {settings.EMAIL_FILE_PATH}")
