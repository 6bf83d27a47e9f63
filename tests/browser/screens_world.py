"""The isle after a few weeks, and Tern Rock with nothing in it yet; prints ways in as JSON.

Asked for `addresses`, it prints what fills the `:names` in the addresses of the app's screens.
"""

import json
import sys

import django

django.setup()

from network.demo.scenario import SLUG  # noqa: E402  # models need the settings first
from network.demo.seed import seed_demo  # noqa: E402
from network.demo.visitors import visitors  # noqa: E402
from network.people.models import Community, Membership, Role  # noqa: E402
from network.people.services import sign_in_link_token  # noqa: E402
from tests.browser.screen_addresses import addresses_in  # noqa: E402
from tests.browser.world import found  # noqa: E402

WEEKS = 3


def ways_in() -> dict[str, str]:
    """Seed both communities; return the token by which each person signs in, once."""
    seed_demo(progress=lambda words: print(words, file=sys.stderr), weeks=WEEKS)  # noqa: T201
    rock = found()
    contact, maker, organiser = (user for user, _ in visitors())
    organisation = Membership.objects.get(user=maker).organisation
    driver = Membership.objects.get(organisation=organisation, role=Role.DRIVER).user
    people = {"contact": contact, "driver": driver, "maker": maker, "organiser": organiser}
    bare = {f"bare {who}": user for who, user in rock.people.items()}
    return {who: sign_in_link_token(user) for who, user in {**people, **bare}.items()}


def addresses() -> dict[str, str]:
    """Return what fills the addresses of screens with something of the isle."""
    contact, maker, organiser = (user for user, _ in visitors())
    isle = Community.objects.get(slug=SLUG)
    return addresses_in(isle, contact=contact, maker=maker, organiser=organiser)


if __name__ == "__main__":
    told = addresses() if sys.argv[1:] == ["addresses"] else ways_in()
    print(json.dumps(told))  # noqa: T201  # read by the test
