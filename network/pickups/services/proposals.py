"""A maker asks for a plan, a worker makes it, and the maker changes it by hand."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from uuid import UUID

from django.db import transaction
from procrastinate.contrib.django import app

from network.errors import DifferentBody, FieldError, InvalidInput, WrongState
from network.people.core.actor import MAKER, Actor
from network.pickups.core.placing import with_stop
from network.pickups.core.schedule import retime
from network.pickups.figures import difference_to_data
from network.pickups.models import Alternative, Proposal, Search
from network.pickups.plan_data import (
    Data,
    Groundwork,
    groundwork_from_data,
    orders_of,
)
from network.pickups.plan_words import plan_to_data
from network.pickups.queries import proposal_for
from network.pickups.request_data import PlanRequest, request_to_data
from network.pickups.services._shared import moment
from network.pickups.services.wishes import maker_of_request

SOLVE_TASK = "network.pickups.tasks.solve_proposal"
# What stays with a plan when its stops are moved.
_KEPT = ("standing", "aim")
SEED_MASK = 0x7FFF_FFFF


@transaction.atomic
def request_proposal(
    actor: Actor, *, proposal_id: UUID, request: PlanRequest, at: datetime | None = None
) -> Proposal:
    """Ask for a plan of some shifts of one maker's vans; it is worked out in the background.

    The job is queued in the same transaction, so it exists only if the proposal does. Raises
    InvalidInput naming each shift or place that cannot be, AlreadyBooked for a van that is out.
    """
    actor.require(MAKER)
    wish = request_to_data(request)
    sent_before = Proposal.objects.filter(id=proposal_id).first()
    if sent_before is not None:
        if sent_before.maker_id not in actor.held_for(MAKER) or sent_before.request != wish:
            raise DifferentBody
        return sent_before
    now = moment(at)
    maker = maker_of_request(actor, request, now=now)
    return queue_proposal(actor, proposal_id=proposal_id, maker_id=maker.id, wish=wish, now=now)


def queue_proposal(
    actor: Actor, *, proposal_id: UUID, maker_id: UUID, wish: Data, now: datetime
) -> Proposal:
    """Keep what is asked for, and have it worked out once that is saved."""
    proposal = Proposal.objects.create(
        id=proposal_id,
        community_id=actor.community_id,
        maker_id=maker_id,
        request=wish,
        status=Proposal.Status.QUEUED,
        # Any number will do, but the same proposal always gives the same plan.
        seed=proposal_id.int & SEED_MASK,
        created_at=now,
        created_by_id=actor.user_id,
    )
    Search.objects.create(community_id=actor.community_id, proposal=proposal)
    app.configure_task(SOLVE_TASK).defer(proposal_id=str(proposal_id))
    return proposal


@transaction.atomic
def change_proposal(
    actor: Actor, *, proposal_id: UUID, orders: Mapping[int, Iterable[UUID]]
) -> Proposal:
    """Put the stops of a ready plan in another order, by shift; a shift left out stays at home.

    The plan is timed anew and its violations named; nothing is refused but what is not there.
    """
    proposal = proposal_for(actor, proposal_id, lock=True)
    require_ready(proposal)
    groundwork = groundwork_from_data(proposal.problem or {})
    named = {str(index): [str(place_id) for place_id in ids] for index, ids in orders.items()}
    _refuse_unknown(groundwork, named)
    return _put(proposal, groundwork, named)


@transaction.atomic
def move_stop(actor: Actor, *, proposal_id: UUID, place_id: UUID, shift: int | None) -> Proposal:
    """Move a place to where it fits a shift best, whether it had a stop or not; None: to no shift.

    What the change costs is kept with the plan. Raises InvalidInput for what is not there.
    """
    proposal = proposal_for(actor, proposal_id, lock=True)
    require_ready(proposal)
    groundwork = groundwork_from_data(proposal.problem or {})
    problem, moved = groundwork.problem, str(place_id)
    if moved not in problem.place_by_id:
        raise InvalidInput.of("place_id", *_NO_SUCH_PLACE)
    orders = {
        name: [other for other in order if other != moved]
        for name, order in orders_of(proposal.plan or {}).items()
    }
    if shift is not None:
        if str(shift) not in problem.shift_by_id:
            raise InvalidInput.of("shift", *_NO_SUCH_SHIFT)
        orders[str(shift)] = with_stop(problem, retime(problem, orders), str(shift), moved)
    return _put(proposal, groundwork, orders)


@transaction.atomic
def choose_alternative(actor: Actor, *, proposal_id: UUID, aim: str) -> Proposal:
    """Put one of a proposal's alternatives in its place; what was moved by hand is undone.

    Raises InvalidInput for an aim that none of them has.
    """
    proposal = proposal_for(actor, proposal_id, lock=True)
    require_ready(proposal)
    chosen = Alternative.objects.filter(proposal=proposal, aim=aim).first()
    if chosen is None:
        raise InvalidInput.of("aim", *_NO_SUCH_ALTERNATIVE)
    proposal.plan = {**chosen.plan, "aim": aim}
    proposal.save(update_fields=["plan"])
    return proposal


@transaction.atomic
def stop_search(actor: Actor, *, proposal_id: UUID, at: datetime | None = None) -> Proposal:
    """Have the search for a proposal's plans end with the best it has; nothing where it is over."""
    proposal = proposal_for(actor, proposal_id)
    actor.require(MAKER, organisation_id=proposal.maker_id)
    Search.objects.filter(
        proposal=proposal, finished_at__isnull=True, stop_wished_at__isnull=True
    ).update(stop_wished_at=moment(at))
    return proposal


def _put(proposal: Proposal, groundwork: Groundwork, orders: Mapping[str, list[str]]) -> Proposal:
    """Time the stops in this order; what that costs against the plan before is kept with it."""
    before: Data = proposal.plan or {}
    # A van that has no stop stays at home.
    plan = retime(groundwork.problem, {shift: ids for shift, ids in orders.items() if ids})
    after = plan_to_data(groundwork, plan)
    if "outcome" in before:
        proposed = before.get("proposed") or before["outcome"]
        after["proposed"] = proposed
        after["change"] = {
            "from_before": difference_to_data(before["outcome"], after["outcome"]),
            "from_proposed": difference_to_data(proposed, after["outcome"]),
        }
    proposal.plan = {**after, **{name: before[name] for name in _KEPT if name in before}}
    proposal.save(update_fields=["plan"])
    return proposal


def require_ready(proposal: Proposal) -> None:
    """Raise WrongState unless the proposal has a plan that can be changed or booked."""
    if proposal.status == Proposal.Status.BOOKED:
        raise WrongState("This proposal is booked: call its routes off to plan anew.")
    if proposal.status == Proposal.Status.FAILED:
        raise WrongState(f"No plan could be made: {proposal.failure}")
    if proposal.status != Proposal.Status.READY:
        raise WrongState("The plan is still being worked out.")


_NO_SUCH_SHIFT = (
    "There is no such shift in this proposal.",
    "Count the shifts from 0, as they were asked for.",
)
_NO_SUCH_ALTERNATIVE = (
    "This proposal has no such alternative.",
    "Choose one that is shown beside it.",
)
_NO_SUCH_PLACE = (
    "That place is not part of this proposal.",
    "Choose among its stops and those left out.",
)


def _refuse_unknown(groundwork: Groundwork, orders: Mapping[str, list[str]]) -> None:
    faults = []
    for number, (shift, place_ids) in enumerate(orders.items()):
        if shift not in groundwork.problem.shift_by_id:
            faults.append(
                FieldError(
                    field=f"routes[{number}].shift",
                    detail=_NO_SUCH_SHIFT[0],
                    mend=_NO_SUCH_SHIFT[1],
                )
            )
        for position, place_id in enumerate(place_ids):
            if place_id not in groundwork.problem.place_by_id:
                faults.append(
                    FieldError(
                        field=f"routes[{number}].place_ids[{position}]",
                        detail=_NO_SUCH_PLACE[0],
                        mend=_NO_SUCH_PLACE[1],
                    )
                )
    if faults:
        raise InvalidInput("This order cannot be planned.", fields=tuple(faults))
