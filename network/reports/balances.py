"""The balance of the flow in a period: from the ledger, per stream and in all, to the gram."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from network.materials.models import Stream
from network.people.core.actor import MAKER, Actor
from network.people.models import Community
from network.reports.core.balance import ENTRY, Balance, Flow, balance_of
from network.reports.core.method import Method, Uncertainty
from network.reports.core.picture import Bar, Link, Picture, drawn
from network.reports.core.points import POINTS, counted_g
from network.reports.queries import Masses, Named, Report, Selection, diverted
from network.reports.summing import Asked, parts_of

# How the picture puts kinds of account together, from the top down.
STAGES: Mapping[str, tuple[str, ...]] = {
    "collected": (ENTRY,),
    "on_the_way": ("vehicle",),
    "store": ("collected",),
    "prepared": ("washed", "sorted", "shredded"),
    "making": ("batch", "offcut"),
    "products": ("product",),
}
POINT_NAMES = list(POINTS)
ENDS = ("earlier", "passed_on", "returned", "residue", "loss")
ONE_DAY = timedelta(days=1)
# A stream, two kinds of account, a reason, and whether it was undone; and the grams of each.
MovedKey = tuple[UUID, str, str, str, bool]
Moved = Counter[MovedKey]


@dataclass(frozen=True, kw_only=True)
class Counted:
    """The mass at one point, in g, by its method; without an uncertainty where none is known."""

    point: str
    method: Method
    mass_g: int
    uncertainty: Uncertainty | None


@dataclass(frozen=True, kw_only=True)
class StreamBalance:
    """The balance of one stream."""

    stream: Named
    balance: Balance


@dataclass(frozen=True, kw_only=True)
class FlowReport:
    """The flow of a period as a balance, in all and by stream, and at each point by its method."""

    community: Community
    selection: Selection
    balance: Balance
    streams: Sequence[StreamBalance]
    points: Sequence[Counted]
    coverage: Masses
    picture: Picture


def balance(actor: Actor, *, community: Community, selection: Selection) -> FlowReport:
    """Return the balance of the community, or of the makers that the actor works for.

    Only the days and the stream of the selection count.
    """
    asked = Selection(
        first_day=selection.first_day, last_day=selection.last_day, stream_id=selection.stream_id
    )
    streams = _by_stream(actor, community, asked)
    whole = _whole([one.balance for one in streams])
    accepted = diverted(actor, community=community, selection=asked)
    return FlowReport(
        community=community,
        selection=asked,
        balance=whole,
        streams=streams,
        points=[_counted(point, whole, accepted) for point in POINTS],
        coverage=accepted.total,
        picture=picture_of(whole),
    )


def _counted(point: str, whole: Balance, accepted: Report) -> Counted:
    method = POINTS[point]
    return Counted(
        point=point,
        method=method,
        mass_g=counted_g(point, whole),
        uncertainty=accepted.uncertainty if method == accepted.method else None,
    )


def picture_of(whole: Balance) -> Picture:
    """Return the picture of a balance; what went backwards is in the table only."""
    stage_of = {kind: stage for stage, kinds in STAGES.items() for kind in kinds}
    opening_g, closing_g = defaultdict[str, int](int), defaultdict[str, int](int)
    for stock in whole.stocks:
        opening_g[stage_of[stock.kind]] += stock.opening_g
        closing_g[stage_of[stock.kind]] += stock.closing_g
    bars = [
        Bar(name=stage, layer=layer, opening_g=opening_g[stage], closing_g=closing_g[stage])
        for layer, stage in enumerate(STAGES)
    ]
    bars += [Bar(name=end, layer=len(STAGES) - 1) for end in ENDS]
    return drawn(bars, _links(whole, stage_of))


def _links(whole: Balance, stage_of: Mapping[str, str]) -> list[Link]:
    """Return what went between stages, less what went back the same way."""
    order = [*STAGES, *ENDS]
    masses_g: dict[tuple[str, str], int] = defaultdict(int)
    for flow in whole.flows:
        source = stage_of.get(flow.from_kind, flow.from_kind)
        target = stage_of.get(flow.to_kind, flow.to_kind)
        if order.index(source) <= order.index(target):
            masses_g[source, target] += flow.mass_g
        else:
            masses_g[target, source] -= flow.mass_g
    return [
        Link(source=source, target=target, mass_g=mass_g)
        for (source, target), mass_g in masses_g.items()
    ]


def _whole(parts: Iterable[Balance]) -> Balance:
    """Return the balance of all streams together."""
    balances = list(parts)
    opening_g, closing_g = defaultdict[str, int](int), defaultdict[str, int](int)
    for one in balances:
        for stock in one.stocks:
            opening_g[stock.kind] += stock.opening_g
            closing_g[stock.kind] += stock.closing_g
    flows = [flow for one in balances for flow in one.flows]
    return balance_of(flows, opening_g=opening_g, closing_g=closing_g)


def _by_stream(actor: Actor, community: Community, asked: Selection) -> list[StreamBalance]:
    """Return the balance of each stream that had any line, by its name."""
    before, within = _moved(actor, community, asked)
    opening_g, closing_g = _added(before), _added(before + within)
    flows: dict[UUID, list[Flow]] = defaultdict(list)
    for key, mass_g in within.items():
        flows[key[0]].append(_flow(key, mass_g))
    names = Stream.objects.filter(id__in=closing_g).order_by("name", "id").values_list("id", "name")
    return [
        StreamBalance(
            stream=Named(id=stream_id, name=name),
            balance=balance_of(
                flows[stream_id], opening_g=opening_g[stream_id], closing_g=closing_g[stream_id]
            ),
        )
        for stream_id, name in names
    ]


def _flow(key: MovedKey, mass_g: int) -> Flow:
    """Return a flow in the direction of what was done, or undone."""
    _, frm, to, reason, undone = key
    if undone:
        return Flow(from_kind=to, to_kind=frm, reason=reason, mass_g=-mass_g)
    return Flow(from_kind=frm, to_kind=to, reason=reason, mass_g=mass_g)


def _added(moved: Moved) -> dict[UUID, dict[str, int]]:
    """Return what lines add to each kind of account, by stream, in g."""
    sums_g = defaultdict[UUID, dict[str, int]](lambda: defaultdict(int))
    for (stream_id, frm, to, _, _), mass_g in moved.items():
        sums_g[stream_id][frm] -= mass_g
        sums_g[stream_id][to] += mass_g
    return sums_g


def _moved(actor: Actor, community: Community, asked: Selection) -> tuple[Moved, Moved]:
    """Return what was moved before and within the period."""
    wanted: dict[str, object] = {"community_id": actor.community_id}
    if not actor.is_organiser:
        wanted["maker_id__in"] = actor.held_for(MAKER)
    if asked.stream_id:
        wanted["stream_id"] = asked.stream_id

    def between(first: date | None, last: date | None) -> Moved:
        parts = parts_of(first, last)
        zone = ZoneInfo(community.timezone)
        return Asked(wanted=wanted, parts=parts, zone=zone, by=()).flows_g()

    first = asked.first_day
    before: Moved = between(None, first - ONE_DAY) if first else Counter()
    return before, between(first, asked.last_day)
