"""A maker asks what would be if; a worker changes the proposal's problem so, and solves it."""

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from procrastinate.contrib.django import app

from network.errors import DifferentBody, MillraceError, WrongState
from network.people.core.actor import MAKER, Actor
from network.pickups.core.outcome import difference, outcome_of
from network.pickups.core.plan import Plan
from network.pickups.core.schedule import retime
from network.pickups.core.solve import solve
from network.pickups.figures import outcome_to_data
from network.pickups.models import Proposal, Question
from network.pickups.plan_data import Data, Groundwork, groundwork_from_data, orders_of
from network.pickups.queries import proposal_for, question_for
from network.pickups.request_data import PlanRequest, request_from_data
from network.pickups.services._shared import moment
from network.pickups.services.proposals import request_proposal, require_ready
from network.pickups.services.searching import (
    ALTERNATIVE_PART,
    ALTERNATIVE_S_MAX,
    SEARCHES,
    failure_of,
    search_length,
)
from network.pickups.services.watching import Watch, alone_with
from network.pickups.what_if import (
    WhatIf,
    supposed,
    supposed_request,
    what_if_from_data,
    what_if_to_data,
)

ANSWER_TASK = "network.pickups.tasks.answer_question"


@transaction.atomic
def ask_what_if(
    actor: Actor,
    *,
    question_id: UUID,
    proposal_id: UUID,
    supposing: WhatIf,
    at: datetime | None = None,
) -> Question:
    """Ask what the proposal's plan would be like, were something otherwise.

    It is answered in the background, and takes the place of what the same person asked of the
    proposal before. Raises InvalidInput for what is not part of the proposal, WrongState for the
    rest of a day.
    """
    sent = what_if_to_data(supposing)
    sent_before = Question.objects.filter(id=question_id).first()
    if sent_before is not None:
        if (
            sent_before.proposal_id != proposal_id
            or sent_before.asked_by_id != actor.user_id
            or sent_before.supposing != sent
        ):
            raise DifferentBody
        return sent_before
    proposal = _open_proposal(actor, proposal_id)
    _would_be(proposal, request_from_data(proposal.request), supposing)
    proposal.questions.filter(asked_by_id=actor.user_id).delete()
    question = Question.objects.create(
        id=question_id,
        community_id=actor.community_id,
        proposal=proposal,
        supposing=sent,
        asked_at=moment(at),
        asked_by_id=actor.user_id,
    )
    app.configure_task(ANSWER_TASK).defer(question_id=str(question_id))
    return question


def answer_question(*, question_id: UUID) -> None:
    """Work out what a question's plan would come to, and keep that, or why it cannot be told.

    Does nothing for one that is answered, gone, or in another worker's hand. A worker that dies
    leaves it to the next one.
    """
    with alone_with(f"question {question_id}") as mine:
        rows = Question.objects.filter(id=question_id, finished_at__isnull=True)
        question = rows.select_related("proposal__maker").first() if mine else None
        if question is None:
            return
        try:
            require_ready(question.proposal)
            rows.update(answer=_answered(question), finished_at=timezone.now())
        except Exception as error:
            rows.update(failure=failure_of(error), finished_at=timezone.now())
            if not isinstance(error, MillraceError):
                raise


@transaction.atomic
def stop_question(actor: Actor, *, question_id: UUID, at: datetime | None = None) -> Question:
    """Have a question answered with the best that is found; nothing where it is answered."""
    question = question_for(actor, question_id)
    actor.require(MAKER, organisation_id=question.proposal.maker_id)
    Question.objects.filter(
        id=question.id, finished_at__isnull=True, stop_wished_at__isnull=True
    ).update(stop_wished_at=moment(at))
    question.refresh_from_db()
    return question


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


def _would_be(
    proposal: Proposal, request: PlanRequest, supposing: WhatIf
) -> tuple[Groundwork, Groundwork]:
    """What a proposal was planned on, and what it would be planned on."""
    groundwork = groundwork_from_data(proposal.problem or {})
    return groundwork, supposed(groundwork, supposing, overflow_cost=request.overflow_cost)


def _answered(question: Question) -> Data:
    """Search for the supposed plan, and tell how it differs from the one that is there."""
    proposal, supposing = question.proposal, what_if_from_data(question.supposing)
    request = request_from_data(proposal.request)
    groundwork, would = _would_be(proposal, request, supposing)
    orders = orders_of(proposal.plan or {})
    before = retime(groundwork.problem, orders)
    start = retime(
        would.problem,
        {shift: ids for shift, ids in orders.items() if shift in would.problem.shift_by_id},
    )
    length = search_length(would.problem) // ALTERNATIVE_PART
    rows = Question.objects.filter(id=question.id)
    after = solve(
        would.problem,
        seed=proposal.seed,
        iterations=length,
        searches=SEARCHES,
        warm_start=start,
        stop=Watch(
            rows,
            would.problem,
            length=length,
            seconds_max=ALTERNATIVE_S_MAX,
            # One that is gone was asked anew.
            is_over=lambda: not rows.filter(stop_wished_at__isnull=True).exists(),
        ),
    )
    sums = outcome_of(would.problem, after)
    change = difference(outcome_of(groundwork.problem, before), sums)
    return {
        "sums": outcome_to_data(sums),
        "change": outcome_to_data(change),
        "comes_in": _named(groundwork, set(after.visit_by_place) - set(before.visit_by_place)),
        "falls_out": _named(groundwork, set(before.visit_by_place) - set(after.visit_by_place)),
        "moves": _named(groundwork, _moved(before, after)),
        "hindrances": _hindrances(request, supposing),
    }


def _named(groundwork: Groundwork, place_ids: set[str]) -> list[Data]:
    named = [{"id": one, "name": groundwork.names.get(one, one)} for one in place_ids]
    return sorted(named, key=lambda place: (place["name"], place["id"]))


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
