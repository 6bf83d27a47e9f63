"""`millrace verify`: whether the ledger is what it was."""

from itertools import islice

from api.server.progress import give_up, say, say_detail
from network.lots.queries.verifying import differences_of, last_seal
from network.people.models import Community
from network.people.queries import communities

# After as many it is clear that something is wrong; the first are the ones to look at.
DIFFERENCES_MAX = 10


def verify() -> None:
    """Name what differs in each community's ledger; exits with 1 if anything does."""
    differing = [community.slug for community in communities() if not _is_sound(community)]
    if differing:
        raise give_up(f"the ledger is not what it was in: {', '.join(differing)}.")
    say("Every balance, sum, seal and sealed line is what it was.")


def _is_sound(community: Community) -> bool:
    found = list(islice(differences_of(community), DIFFERENCES_MAX))
    seal = last_seal(community)
    say(f"{community.slug}: {'DIFFERS' if found else 'sound'}")
    for difference in found:
        say_detail(f"{difference.kind} {difference.id}: {difference.detail}")
    if seal:
        say_detail(f"seal {seal.number}, up to {seal.last_day}: {seal.hash}")
    else:
        say_detail("nothing is sealed yet: only balances and sums were worked out")
    return not found
