"""A worker works a proposal out: the plan, and then others for the same shifts beside it.

While it searches, nobody else does: it holds a lock of its connection that goes with a worker who
dies. How far it is, it writes down as it goes, and there it looks whether somebody had enough.
"""

from decimal import Decimal
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from network.errors import MillraceError
from network.pickups.core.alternatives import Aim, front, weighed
from network.pickups.core.plan import Plan
from network.pickups.core.problem import Problem
from network.pickups.core.replan import replan
from network.pickups.core.schedule import retime
from network.pickups.core.solve import solve
from network.pickups.figures import outcome_from_data, route_sums
from network.pickups.models import Alternative, Proposal, Search
from network.pickups.plan_data import (
    Data,
    Groundwork,
    groundwork_from_data,
    groundwork_to_data,
    orders_of,
)
from network.pickups.plan_words import plan_to_data
from network.pickups.planning import lay_groundwork
from network.pickups.request_data import PlanRequest, request_from_data
from network.pickups.rest_of_day import lay_rest_of_day
from network.pickups.services.proposals import SEED_MASK
from network.pickups.services.watching import Watch, alone_with

# A search is as long as what it has to choose among: so many steps at least, and so many more for
# each visit that could be made. What that gains is measured in docs/rules/planning.md.
ITERATIONS_LEAST = 1_000
ITERATIONS_PER_VISIT = 50
# Side by side; one number for all machines, so that a proposal's plan is the same on each.
SEARCHES = 2
# Others begin from the plan that is there, and are found in half the steps.
ALTERNATIVE_PART = 2
# No plan takes longer, however large it is; with one that is cut off so, a second try may differ.
PLAN_S_MAX = 60
ALTERNATIVE_S_MAX = 20
FAILURE_LENGTH_MAX = 500
# What it costs that a stop changes its van or its hour during the day: a guess without a source, in
# the community's currency.
TROUBLE = Decimal("5.00")
_OUR_FAULT = "Something is broken on our side, so no plan was made. Ask again later."


def search_length(problem: Problem) -> int:
    """Return how many steps a problem's search takes: more for a larger one."""
    visits = sum(len(place.days) for place in problem.places)
    return ITERATIONS_LEAST + ITERATIONS_PER_VISIT * visits


def solve_proposal(*, proposal_id: UUID, iterations: int | None = None) -> None:
    """Work out a proposal's plan and keep it, or what keeps it from being made, in words.

    Does nothing for one that is settled or that another worker has in hand. A worker that dies
    leaves the proposal as it was, for the next one.
    """
    with alone_with(f"plan {proposal_id}") as mine:
        if not mine:
            return
        rows = Proposal.objects.filter(id=proposal_id)
        rows.filter(status=Proposal.Status.QUEUED).update(status=Proposal.Status.WORKING)
        working = rows.filter(status=Proposal.Status.WORKING)
        proposal = working.select_related("maker__community").first()
        if proposal is None:
            return
        try:
            _work_out(proposal, iterations)
        except Exception as error:
            working.update(status=Proposal.Status.FAILED, failure=failure_of(error))
            _finish(proposal)
            if not isinstance(error, MillraceError):
                raise


def find_alternatives(*, proposal_id: UUID) -> None:
    """Look for plans that are better in one thing or another, and keep those that say something.

    Begun anew where a worker died in the midst of it. Does nothing for a proposal that is not
    ready, has had its search, or is for the rest of a day, where little is to change.
    """
    with alone_with(f"plan {proposal_id}") as mine:
        ready = Proposal.objects.filter(
            id=proposal_id,
            status=Proposal.Status.READY,
            search__finished_at__isnull=True,
            alternatives__aim=Aim.BALANCED.value,
        )
        proposal = ready.first() if mine else None
        if proposal is None:
            return
        try:
            _keep_alternatives(proposal)
        finally:
            _finish(proposal)


def failure_of(error: Exception) -> str:
    """Return what keeps a worker from an answer, in words that may be shown."""
    told = error.detail if isinstance(error, MillraceError) else _OUR_FAULT
    return told[:FAILURE_LENGTH_MAX]


def _finish(proposal: Proposal) -> None:
    Search.objects.filter(proposal=proposal).update(finished_at=timezone.now())


def _work_out(proposal: Proposal, iterations: int | None) -> None:
    request = request_from_data(proposal.request)
    if request.rest_of_day:
        groundwork, told = _rest_planned(proposal, request, iterations)
    else:
        groundwork = lay_groundwork(proposal.maker, request, now=proposal.created_at)
        length = iterations or search_length(groundwork.problem)
        plan = solve(
            groundwork.problem,
            seed=proposal.seed,
            iterations=length,
            searches=SEARCHES,
            stop=_watch(proposal, groundwork.problem, length=length, seconds_max=PLAN_S_MAX),
        )
        told = {**plan_to_data(groundwork, plan), "aim": Aim.BALANCED.value}
    proposal.problem = groundwork_to_data(groundwork)
    proposal.plan = told
    proposal.status = Proposal.Status.READY
    with transaction.atomic():
        proposal.save(update_fields=["problem", "plan", "status"])
        if request.rest_of_day:
            _finish(proposal)
        else:
            _keep(proposal, 0, Aim.BALANCED, told)


def _rest_planned(
    proposal: Proposal, request: PlanRequest, iterations: int | None
) -> tuple[Groundwork, Data]:
    """Plan the rest of a day; what changes against the routes that stand is kept with the plan."""
    rest = lay_rest_of_day(proposal.maker, request, now=proposal.created_at)
    groundwork, problem = rest.groundwork, rest.groundwork.problem
    standing = retime(problem, rest.in_force)
    length = iterations or search_length(problem)
    plan = replan(
        problem,
        rest.in_force,
        seed=proposal.seed,
        iterations=length,
        trouble=TROUBLE,
        searches=SEARCHES,
        stop=_watch(proposal, problem, length=length, seconds_max=PLAN_S_MAX),
    )
    told = plan_to_data(groundwork, plan)
    told["standing"] = {route.shift_id: route_sums(route) for route in standing.routes}
    return groundwork, told


def _keep(proposal: Proposal, position: int, aim: Aim, told: Data) -> None:
    Alternative.objects.create(
        community_id=proposal.community_id,
        proposal=proposal,
        aim=aim.value,
        position=position,
        outcome=told["outcome"],
        plan=told,
    )


def _keep_alternatives(proposal: Proposal) -> None:
    """Search with each of the other weights, from the plan that is there; keep all at once."""
    balanced = Alternative.objects.get(proposal=proposal, aim=Aim.BALANCED.value)
    groundwork = groundwork_from_data(proposal.problem or {})
    start = retime(groundwork.problem, orders_of(balanced.plan))
    told = {Aim.BALANCED: balanced.plan}
    for number, aim in enumerate(Aim):
        if aim is not Aim.BALANCED and not _is_over(proposal):
            told[aim] = plan_to_data(
                groundwork, _made_for(aim, proposal, groundwork, start, number)
            )
    with transaction.atomic():
        new = front([(aim, outcome_from_data(plan["outcome"])) for aim, plan in told.items()])
        for position, aim in enumerate(new[1:], start=1):
            _keep(proposal, position, aim, told[aim])


def _made_for(
    aim: Aim, proposal: Proposal, groundwork: Groundwork, start: Plan, number: int
) -> Plan:
    costs = {
        place_id: {day: worth.full_days_cost for day, worth in by_day.items()}
        for place_id, by_day in groundwork.worths.items()
    }
    problem = weighed(groundwork.problem, aim, full_days_costs=costs)
    length = search_length(problem) // ALTERNATIVE_PART
    plan = solve(
        problem,
        seed=(proposal.seed + number) & SEED_MASK,
        iterations=length,
        searches=SEARCHES,
        warm_start=start,
        stop=_watch(proposal, problem, length=length, seconds_max=ALTERNATIVE_S_MAX, aim=aim),
    )
    return retime(groundwork.problem, plan.orders)


def _watch(
    proposal: Proposal,
    problem: Problem,
    *,
    length: int,
    seconds_max: int,
    aim: Aim = Aim.BALANCED,
) -> Watch:
    return Watch(
        Search.objects.filter(proposal=proposal),
        problem,
        length=length,
        seconds_max=seconds_max,
        is_over=lambda: _is_over(proposal),
        aim=aim,
    )


def _is_over(proposal: Proposal) -> bool:
    """Whether somebody had enough, or the proposal is booked or gone."""
    wanted = Search.objects.filter(
        proposal=proposal,
        stop_wished_at__isnull=True,
        proposal__status__in=[Proposal.Status.WORKING, Proposal.Status.READY],
    )
    return not wanted.exists()
