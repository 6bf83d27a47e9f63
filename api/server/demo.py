"""The invented isle: seeded once, with a way in for each of its three people."""

import importlib
import importlib.util
from types import ModuleType

from api.server.progress import say, say_detail, step
from network.people.core.actor import CONTACT, MAKER, ORGANISER
from network.people.models import Membership
from network.people.services import sign_in_link_token

_PEOPLE = {
    CONTACT: "A school's caretaker, who sets the caps aside",
    MAKER: "A maker, who plans and drives the pickups",
    ORGANISER: "The organiser, who reports the kilograms",
}


def seed() -> None:
    """Fill the database with the invented scenario, unless it holds it already."""
    module = _seed_module()
    if module is None:
        return
    with step("Seeding Tamsin Isle (its data is kept; only the first time takes long)"):
        module.seed_demo(progress=say_detail)


def say_who_can_sign_in(address: str) -> None:
    """Print a link for each of the three people, which signs in once, within a day."""
    for role, who in _PEOPLE.items():
        held = Membership.objects.filter(role=role).select_related("user").order_by("id").first()
        if held is not None:
            say(f"  {who}:")
            say(f"    {address}/#/sign-in/{sign_in_link_token(held.user)}")


def _seed_module() -> ModuleType | None:
    if importlib.util.find_spec("network.demo.seed") is None:
        return None
    return importlib.import_module("network.demo.seed")
