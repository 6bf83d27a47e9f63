"""Closing a period, so that a later change of it is evident."""

from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import suppress
from datetime import date, datetime, time, timedelta
from itertools import islice
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import connection, transaction
from django.utils import timezone

from network.errors import InvalidInput, WrongState
from network.events import Event, announce
from network.ids import new_id
from network.lots.core.seal import NO_FORMER, RUN_LINES, Period, seal_hash
from network.lots.core.tree import leaf_hash, root_of
from network.lots.models import Seal, SealedRun
from network.lots.queries.lines import SealedLine, lines_between, sealed_lines
from network.lots.services.common import refuse_reuse
from network.people.core.actor import ORGANISER, Actor
from network.people.models import Community
from network.people.queries import community_of
from network.people.services.trail import Act, note_act

FIRST_YEAR = 2000


@transaction.atomic
def seal_period(actor: Actor, *, seal_id: UUID, last_day: date) -> Seal:
    """Close the period from the former seal, or the beginning, to a day, and return its seal.

    Raises NotAllowed, InvalidInput for a day that is not over, WrongState when it is closed
    already. The lines are hashed while others go on writing; nobody writes only for the moment in
    which they are counted. Where one was written into the period meanwhile, it is done again, and
    the last time while all wait.
    """
    actor.require(ORGANISER)
    refuse_reuse(Seal.objects.filter(id=seal_id))
    community = community_of(actor)
    for hold_first in (False, False, True):
        with suppress(_Grown), transaction.atomic():
            if hold_first:
                _hold_still(community)
            return _seal(actor, community, seal_id=seal_id, last_day=last_day)
    raise AssertionError("nobody could write, and yet the period grew")


class _Grown(Exception):
    """A line was written into the period, or it was closed, while it was hashed."""


def _seal(actor: Actor, community: Community, *, seal_id: UUID, last_day: date) -> Seal:
    """Make the seal; raises _Grown, and is undone, where it does not have all lines."""
    former = _former(community)
    _check_day(last_day, former, community)
    lines = lines_between(
        community.id,
        starts_at=former.ends_at if former else None,
        ends_at=_end_of(last_day, community),
    )
    sums = _Sums()
    root = _save_runs(sums.adding(sealed_lines(lines)), community=community, seal_id=seal_id)
    _hold_still(community)
    # Lines are never changed or taken away, so as many are the same.
    if _former(community) != former or lines.count() != sums.lines:
        raise _Grown
    period = _period(community, former, last_day=last_day, sums=sums, root=root)
    announce(
        Event.PERIOD_SEALED,
        community_id=community.id,
        subject_id=seal_id,
        at=period.sealed_at,
    )
    seal = Seal.objects.create(
        id=seal_id, by_id=actor.user_id, hash=seal_hash(period), **vars(period)
    )
    note_act(actor, Act.PERIOD_SEALED, seal)
    return seal


class _Sums:
    """What a seal sums up of the lines that pass."""

    def __init__(self) -> None:
        self.lines = 0
        self.late_lines = 0
        self.by_kind_g: Counter[str] = Counter()

    def adding(self, lines: Iterable[SealedLine]) -> Iterator[SealedLine]:
        """Pass lines on, and add each."""
        for line in lines:
            self.lines += 1
            self.late_lines += line.is_late
            self.by_kind_g[line.from_kind] -= line.mass_g
            self.by_kind_g[line.to_kind] += line.mass_g
            yield line


def _hold_still(community: Community) -> None:
    """Wait for those who are writing lines, and let others wait until the transaction ends."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_advisory_xact_lock(hashtextextended('seal ' || %s, 0))", [str(community.id)]
        )


def _former(community: Community) -> Seal | None:
    return Seal.objects.filter(community=community).order_by("number").last()


def _check_day(last_day: date, former: Seal | None, community: Community) -> None:
    if last_day.year < FIRST_YEAR or _end_of_is_to_come(last_day, community):
        raise InvalidInput.of(
            "last_day",
            "A period is closed when its last day is over, by the community's clock.",
            "Send yesterday or an earlier day.",
        )
    if former and last_day <= former.last_day:
        raise WrongState(f"The ledger is closed up to {former.last_day} already.")


def _end_of_is_to_come(last_day: date, community: Community) -> bool:
    today = timezone.now().astimezone(ZoneInfo(community.timezone)).date()
    return last_day >= today


def _end_of(day: date, community: Community) -> datetime:
    midnight = datetime.combine(day + timedelta(days=1), time.min)
    return midnight.replace(tzinfo=ZoneInfo(community.timezone))


def _save_runs(lines: Iterator[SealedLine], *, community: Community, seal_id: UUID) -> bytes:
    """Keep the lines' hashes in runs, one at a time, and return the root over all.

    The seal they belong to is made last; the database asks for it when the transaction ends.
    """
    roots: list[bytes] = []
    while run := list(islice(lines, RUN_LINES)):
        leaves = [leaf_hash(line.text.encode()) for line in run]
        roots.append(root_of(leaves))
        SealedRun.objects.create(
            id=new_id(),
            community=community,
            seal_id=seal_id,
            number=len(roots) - 1,
            first_id=run[0].id,
            line_ids=b"".join(line.id.bytes for line in run),
            leaves=b"".join(leaves),
            root=roots[-1],
        )
    return root_of(roots)


def _period(
    community: Community, former: Seal | None, *, last_day: date, sums: _Sums, root: bytes
) -> Period:
    return Period(
        community_id=community.id,
        number=former.number + 1 if former else 1,
        first_day=former.last_day + timedelta(days=1) if former else None,
        last_day=last_day,
        starts_at=former.ends_at if former else None,
        ends_at=_end_of(last_day, community),
        sealed_at=timezone.now(),
        lines=sums.lines,
        late_lines=sums.late_lines,
        sums_g={kind: mass_g for kind, mass_g in sorted(sums.by_kind_g.items()) if mass_g},
        root=root.hex(),
        former=former.hash if former else NO_FORMER,
    )
