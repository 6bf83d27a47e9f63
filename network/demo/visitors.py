"""The three people of the scenario whose work a visitor can try."""

from network.demo import scenario
from network.people.core.actor import CONTACT, MAKER, ORGANISER
from network.people.models import Membership, Organisation, User

_WORK = {
    CONTACT: "sets bottle caps aside at a school",
    MAKER: "plans pickups and brings the caps home",
    ORGANISER: "reports the diverted kilograms",
}


def visitors() -> list[tuple[User, str]]:
    """Return each of the three with what they do; the first of their kind to have joined."""
    members = Membership.objects.filter(community__slug=scenario.SLUG).select_related("user")
    schools = members.filter(organisation__kind=Organisation.Kind.SCHOOL)
    chosen = []
    for role, work in _WORK.items():
        of_role = (schools if role == CONTACT else members).filter(role=role)
        member = of_role.order_by("created_at", "id").first()
        if member is not None:
            chosen.append((member.user, work))
    return chosen
