"""A maker asks for a plan, a worker makes it, and the maker changes it by hand."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from django.db import transaction
from procrastinate.contrib.django import app

from network.errors import DifferentBody, FieldError, InvalidInput, MillraceError, WrongState
from network.people.core.actor import MAKER, Actor
from network.pickups.core.check import check
from network.pickups.core.explain import explain
from network.pickups.core.placing import with_stop
from network.pickups.core.plan import Plan
from network.pickups.core.replan import replan
from network.pickups.core.schedule import retime
from network.pickups.core.solve import solve
from network.pickups.figures import difference_to_data, route_sums
from network.pickups.models import Proposal
from network.pickups.plan_data import (
    Data,
    Groundwork,
    groundwork_from_data,
    groundwork_to_data,
    orders_of,
)
from network.pickups.plan_words import plan_to_data
from network.pickups.planning import lay_groundwork
from network.pickups.queries import proposal_for
from network.pickups.request_data import PlanRequest, request_from_data, request_to_data
from network.pickups.rest_of_day import lay_rest_of_day
from network.pickups.services._shared import moment
from network.pickups.services.wishes import maker_of_request

SOLVE_TASK = "network.pickups.tasks.solve_proposal"
# Some seconds of one core for sixty places over five days; four times as many gain a few per cent.
SOLVE_ITERATIONS = 3_000
FAILURE_LENGTH_MAX = 500
# What it costs that a stop changes its van or its hour during the day: a guess without a source, in
# the community's currency.
TROUBLE = Decimal("5.00")
# What stays with a plan when its stops are moved.
_KEPT = ("standing",)
_SEED_MASK = 0x7FFF_FFFF


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
        seed=proposal_id.int & _SEED_MASK,
        created_at=now,
        created_by_id=actor.user_id,
    )
    app.configure_task(SOLVE_TASK).defer(proposal_id=str(proposal_id))
    return proposal


def solve_proposal(*, proposal_id: UUID, iterations: int = SOLVE_ITERATIONS) -> None:
    """Work out a proposal's plan and keep it, or what keeps it from being made, in words.

    Does nothing for one that is settled or that another worker has in hand. A worker that dies
    leaves the proposal as it was, for the next one.
    """
    Proposal.objects.filter(id=proposal_id, status=Proposal.Status.QUEUED).update(
        status=Proposal.Status.WORKING
    )
    try:
        with transaction.atomic():
            _solve_if_free(proposal_id, iterations)
    except Exception as error:
        told = error.detail if isinstance(error, MillraceError) else _OUR_FAULT
        Proposal.objects.filter(id=proposal_id, status=Proposal.Status.WORKING).update(
            status=Proposal.Status.FAILED, failure=told[:FAILURE_LENGTH_MAX]
        )
        if not isinstance(error, MillraceError):
            raise


_OUR_FAULT = "Something is broken on our side, so no plan was made. Ask again later."


def _solve_if_free(proposal_id: UUID, iterations: int) -> None:
    # The lock lasts while the solver runs; whoever finds it held has nothing to do.
    proposal = (
        Proposal.objects.select_for_update(of=("self",), skip_locked=True, no_key=True)
        .select_related("maker__community")
        .filter(id=proposal_id, status=Proposal.Status.WORKING)
        .first()
    )
    if proposal is None:
        return
    request = request_from_data(proposal.request)
    if request.rest_of_day:
        groundwork, told = _rest_planned(proposal, request, iterations)
    else:
        groundwork = lay_groundwork(proposal.maker, request, now=proposal.created_at)
        plan = solve(groundwork.problem, seed=proposal.seed, iterations=iterations)
        told = _explained(groundwork, plan)
    proposal.problem = groundwork_to_data(groundwork)
    proposal.plan = told
    proposal.status = Proposal.Status.READY
    proposal.save(update_fields=["problem", "plan", "status"])


def _rest_planned(
    proposal: Proposal, request: PlanRequest, iterations: int
) -> tuple[Groundwork, Data]:
    """Plan the rest of a day; what changes against the routes that stand is kept with the plan."""
    rest = lay_rest_of_day(proposal.maker, request, now=proposal.created_at)
    groundwork, problem = rest.groundwork, rest.groundwork.problem
    standing = retime(problem, rest.in_force)
    plan = replan(
        problem, rest.in_force, seed=proposal.seed, iterations=iterations, trouble=TROUBLE
    )
    told = _explained(groundwork, plan)
    told["standing"] = {route.shift_id: route_sums(route) for route in standing.routes}
    return groundwork, told


def _explained(groundwork: Groundwork, plan: Plan) -> Data:
    problem = groundwork.problem
    return plan_to_data(
        groundwork,
        plan,
        explanations=explain(problem, plan),
        violations=check(problem, plan),
    )


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


def _put(proposal: Proposal, groundwork: Groundwork, orders: Mapping[str, list[str]]) -> Proposal:
    """Time the stops in this order; what that costs against the plan before is kept with it."""
    before: Data = proposal.plan or {}
    # A van that has no stop stays at home.
    plan = retime(groundwork.problem, {shift: ids for shift, ids in orders.items() if ids})
    after = _explained(groundwork, plan)
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
