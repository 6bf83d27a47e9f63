"""What goes back to a place: what came of each visit, its trend, and what to do next time."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Prefetch, Q

from network.lots.models import Account, Inspection, Lot, LotParent, Weighing
from network.lots.queries.seen import standing_weighings
from network.people.core.actor import CONTACT, DRIVER, MAKER, Actor
from network.places.models import Container, Place
from network.places.queries.seen import place_seen_by

COLLECTED = "collected"
TURNED_AWAY = Inspection.Verdict.TURNED_AWAY.value
OUTCOMES = [(COLLECTED, "collected"), (TURNED_AWAY, "turned away")]
# Feedback is about the last few dozen visits, not an archive: the report has that.
LINES_MAX = 500
_AS_IT_IS = ("as_it_is", "Nothing has to change: keep on like this.")


@dataclass(frozen=True, kw_only=True)
class Line:
    """One container at a visit; without a mass when it stayed at the place unweighed.

    `subject_id` is of its lot, or of the inspection by which it stayed.
    """

    subject_id: UUID
    at: datetime
    container_tag: str
    outcome: str
    mass_g: int | None
    estimated: bool
    verdict: str | None
    reasons: Sequence[Mapping[str, Any]]
    findings: Sequence[tuple[str, int]]
    sample_g: int
    note: str


@dataclass(frozen=True, kw_only=True)
class Visit:
    """What came of one day's visit."""

    at: datetime
    lines: Sequence[Line]

    @property
    def mass_g(self) -> int:
        """All that was collected, in g; what was turned away later is part of it."""
        return sum(line.mass_g or 0 for line in self.lines)


@dataclass(frozen=True, kw_only=True)
class Month:
    """One month of the trend, by the community's clock; contamination only where sampled."""

    first_day: date
    mass_g: int
    contamination_percent: float | None


@dataclass(frozen=True, kw_only=True)
class Feedback:
    """Visits, newest first; the trend, oldest first; advice after the newest visit."""

    visits: Sequence[Visit]
    trend: Sequence[Month]
    next_time: Sequence[tuple[str, str]]


def feedback_for(actor: Actor, place_id: UUID) -> Feedback:
    """Return a place's feedback: all of it for its contacts, a maker's own part for the maker.

    Raises NotFound for a place that the actor may not see.
    """
    place = place_seen_by(actor, place_id)
    zone = ZoneInfo(place.community.timezone)
    lines = [*_lot_lines(actor, place), *_doorstep_lines(actor, place)]
    visits = _visits(lines, zone)
    return Feedback(visits=visits, trend=_trend(visits, zone), next_time=_next_time(visits))


def _own_part(actor: Actor, place: Place, path: str) -> Q:
    if actor.is_organiser or place.organisation_id in actor.held_for(CONTACT):
        return Q()
    return Q(**{f"{path}__in": actor.held_for(DRIVER, MAKER)})


def _lot_lines(actor: Actor, place: Place) -> list[Line]:
    origins = Account.objects.filter(kind=Account.Kind.CONTAINER)
    lots = list(
        Lot.objects.filter(
            _own_part(actor, place, "maker_id"), community_id=actor.community_id, place=place
        )
        .prefetch_related(
            Prefetch("accounts", origins, to_attr="origins"),
            Prefetch("weighings", standing_weighings(place.community)),
        )
        .order_by("-made_at", "-id")[:LINES_MAX]
    )
    inspections = _inspections_by_origin(lots)
    tags = _tags(account.holder_id for lot in lots for account in _origins(lot))
    return [
        # Imported history names no container.
        _lot_line(lot, account, tags.get(account.holder_id, ""), inspections[lot.id])
        for lot in lots
        for account in _origins(lot)
        if account.balance_g
    ]


def _origins(lot: Lot) -> list[Account]:
    accounts: list[Account] = getattr(lot, "origins")  # noqa: B009  # filled by the prefetch
    return accounts


def _lot_line(lot: Lot, account: Account, tag: str, looks: Sequence[Inspection]) -> Line:
    last = looks[-1] if looks else None
    sampled = [look for look in looks if look.sample_g]
    turned_away = last is not None and last.verdict == TURNED_AWAY
    return Line(
        subject_id=lot.id,
        at=lot.made_at,
        container_tag=tag,
        outcome=TURNED_AWAY if turned_away else COLLECTED,
        mass_g=-account.balance_g,
        estimated=all(w.method != Weighing.Method.WEIGHED for w in lot.weighings.all()),
        verdict=last.verdict if last else None,
        reasons=last.reasons if last else (),
        findings=[(f.kind, f.mass_g) for look in sampled[-1:] for f in look.findings.all()],
        sample_g=sum(look.sample_g or 0 for look in sampled[-1:]),
        note=last.note if last else "",
    )


def _doorstep_lines(actor: Actor, place: Place) -> list[Line]:
    looks = (
        Inspection.objects.filter(
            _own_part(actor, place, "agreement__stream__maker_id"),
            community_id=actor.community_id,
            agreement__place=place,
            lot__isnull=True,
        )
        .select_related("container")
        .order_by("-at", "-id")[:LINES_MAX]
    )
    return [
        Line(
            subject_id=look.id,
            at=look.at,
            container_tag=look.container.tag if look.container else "",
            outcome=TURNED_AWAY,
            mass_g=None,
            estimated=False,
            verdict=look.verdict,
            reasons=look.reasons,
            findings=(),
            sample_g=0,
            note=look.note,
        )
        for look in looks
    ]


def _inspections_by_origin(lots: Sequence[Lot]) -> Mapping[UUID, list[Inspection]]:
    """Return each lot's inspections, oldest first, with those of the lots it went into.

    A lot with a mass of several places is never inspected, so the links stay within these lots.
    """
    ids = [lot.id for lot in lots]
    children: dict[UUID, list[UUID]] = defaultdict(list)
    links = LotParent.objects.filter(parent_id__in=ids, child_id__in=ids)
    for parent_id, child_id in links.values_list("parent_id", "child_id"):
        children[parent_id].append(child_id)
    looks: dict[UUID, list[Inspection]] = defaultdict(list)
    for look in Inspection.objects.filter(lot_id__in=ids).prefetch_related("findings"):
        if look.lot_id:
            looks[look.lot_id].append(look)
    return {
        lot_id: sorted(
            (look for one in _descent(lot_id, children) for look in looks[one]),
            key=lambda look: (look.at, look.id),
        )
        for lot_id in ids
    }


def _descent(lot_id: UUID, children: Mapping[UUID, list[UUID]]) -> set[UUID]:
    seen = {lot_id}
    waiting = [lot_id]
    while waiting:
        for child_id in children.get(waiting.pop(), ()):
            if child_id not in seen:
                seen.add(child_id)
                waiting.append(child_id)
    return seen


def _tags(container_ids: Iterable[UUID]) -> dict[UUID, str]:
    return dict(Container.objects.filter(id__in=set(container_ids)).values_list("id", "tag"))


def _visits(lines: Iterable[Line], zone: ZoneInfo) -> list[Visit]:
    by_day: dict[date, list[Line]] = defaultdict(list)
    for line in sorted(lines, key=lambda line: line.at):
        by_day[line.at.astimezone(zone).date()].append(line)
    return [Visit(at=by_day[day][0].at, lines=by_day[day]) for day in sorted(by_day, reverse=True)]


def _trend(visits: Iterable[Visit], zone: ZoneInfo) -> list[Month]:
    by_month: dict[date, list[Line]] = defaultdict(list)
    for visit in visits:
        by_month[visit.at.astimezone(zone).date().replace(day=1)].extend(visit.lines)
    return [_month(first_day, by_month[first_day]) for first_day in sorted(by_month)]


def _month(first_day: date, lines: Sequence[Line]) -> Month:
    sample_g = sum(line.sample_g for line in lines)
    found_g = sum(mass_g for line in lines for _, mass_g in line.findings)
    return Month(
        first_day=first_day,
        mass_g=sum(line.mass_g or 0 for line in lines),
        contamination_percent=round(100 * found_g / sample_g, 2) if sample_g else None,
    )


def _next_time(visits: Sequence[Visit]) -> list[tuple[str, str]]:
    """Return the advice of the newest visit's reasons, or its driver's own, each sentence once."""
    if not visits:
        return []
    advice: dict[str, str] = {}
    for line in visits[0].lines:
        advice |= {reason["next_time"]: reason["code"] for reason in line.reasons}
        if line.outcome == TURNED_AWAY and line.note:
            advice.setdefault(line.note, "note")
    return [(code, text) for text, code in advice.items()] or [_AS_IT_IS]
