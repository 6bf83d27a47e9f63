"""A maker asks what would be if: the proposal's problem, changed and solved, and nothing saved."""

import time
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from network.errors import WrongState
from network.people.core.actor import Actor
from network.pickups.core.outcome import Outcome, difference, outcome_of
from network.pickups.core.plan import Plan
from network.pickups.core.schedule import retime
from network.pickups.core.solve import solve
from network.pickups.models import Proposal
from network.pickups.plan_data import Groundwork, groundwork_from_data, orders_of
from network.pickups.queries import proposal_for
from network.pickups.request_data import PlanRequest, request_from_data
from network.pickups.services.proposals import request_proposal, require_ready
from network.pickups.services.searching import search_length
from network.pickups.what_if import WhatIf, supposed, supposed_request

# Somebody waits for the answer, so it takes no longer; it begins from the plan that is there.
ANSWER_S_MAX = 5


@dataclass(frozen=True, kw_only=True)
class Named:
    """A place by its id and name."""

    id: str
    name: str


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What a plan would come to, and how it differs from the one that is there.

    `hindrances` says what keeps it from being planned so; with none of them it can be.
    """

    sums: Outcome
    change: Outcome
    comes_in: Sequence[Named]
    falls_out: Sequence[Named]
    moves: Sequence[Named]
    hindrances: Sequence[str]


def what_if(actor: Actor, *, proposal_id: UUID, supposing: WhatIf) -> Answer:
    """Return what the proposal's plan would be like, were something otherwise.

    Raises InvalidInput for what is not part of the proposal, WrongState for the rest of a day.
    """
    proposal = _open_proposal(actor, proposal_id)
    request = request_from_data(proposal.request)
    groundwork = groundwork_from_data(proposal.problem or {})
    would = supposed(groundwork, supposing, overflow_cost=request.overflow_cost)
    orders = orders_of(proposal.plan or {})
    before = retime(groundwork.problem, orders)
    start = retime(
        would.problem,
        {shift: ids for shift, ids in orders.items() if shift in would.problem.shift_by_id},
    )
    ends_at = time.monotonic() + ANSWER_S_MAX
    after = solve(
        would.problem,
        seed=proposal.seed,
        iterations=search_length(would.problem),
        warm_start=start,
        stop=lambda _best_cost: time.monotonic() >= ends_at,
    )
    sums = outcome_of(would.problem, after)
    return Answer(
        sums=sums,
        change=difference(outcome_of(groundwork.problem, before), sums),
        comes_in=_named(groundwork, set(after.visit_by_place) - set(before.visit_by_place)),
        falls_out=_named(groundwork, set(before.visit_by_place) - set(after.visit_by_place)),
        moves=_named(groundwork, _moved(before, after)),
        hindrances=_hindrances(request, supposing),
    )


@transaction.atomic
def plan_what_if(
    actor: Actor,
    *,
    proposal_id: UUID,
    new_id: UUID,
    supposing: WhatIf,
    at: datetime | None = None,
) -> Proposal:
    """Ask for a new proposal that is planned as supposed; the old one stays.

    Raises WrongState with what keeps it from being so.
    """
    proposal = _open_proposal(actor, proposal_id)
    request = request_from_data(proposal.request)
    hindrances = _hindrances(request, supposing)
    if hindrances:
        raise WrongState(hindrances[0])
    return request_proposal(
        actor, proposal_id=new_id, request=supposed_request(request, supposing), at=at
    )


def _open_proposal(actor: Actor, proposal_id: UUID) -> Proposal:
    proposal = proposal_for(actor, proposal_id)
    require_ready(proposal)
    if proposal.request.get("rest_of_day"):
        raise WrongState("The rest of a day is planned from how things stand: suppose nothing.")
    return proposal


def _named(groundwork: Groundwork, place_ids: set[str]) -> list[Named]:
    named = [Named(id=one, name=groundwork.names.get(one, one)) for one in place_ids]
    return sorted(named, key=lambda place: (place.name, place.id))


def _moved(before: Plan, after: Plan) -> set[str]:
    """The places that another van, or the same on another day, would come to."""
    both = set(before.visit_by_place) & set(after.visit_by_place)
    shifts = {one: (before.visit_by_place[one][0], after.visit_by_place[one][0]) for one in both}
    return {one for one, (was, now) in shifts.items() if was.shift_id != now.shift_id}


def _hindrances(request: PlanRequest, supposing: WhatIf) -> list[str]:
    found = []
    if supposing.more_like_vehicle_id is not None:
        found.append("There is no such van yet: add it to your vans, then plan with it.")
    elif any(
        figure is not None
        for figure in (supposing.payload_g, supposing.volume_ml, supposing.cost_per_km)
    ):
        found.append("What a van carries and costs is changed where your vans are.")
    if all(wish.vehicle_id == supposing.without_vehicle_id for wish in request.shifts):
        found.append("Without that van nobody could drive.")
    return found
