"""What would be if: a place is closed, a van more or less, another limit; nothing is kept."""

from dataclasses import dataclass, replace
from datetime import date, time, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

import pytest

from network.errors import DifferentBody, InvalidInput, NotFound, WrongState
from network.ids import new_id
from network.people.models import Role
from network.pickups import services
from network.pickups.core.outcome import Outcome
from network.pickups.core.plan import Plan
from network.pickups.core.problem import Problem
from network.pickups.core.search import StopRule
from network.pickups.core.solve import solve
from network.pickups.figures import outcome_from_data
from network.pickups.models import Proposal, Question
from network.pickups.plan_data import groundwork_from_data
from network.pickups.queries import question_for
from network.pickups.what_if import WhatIf
from tests.factories import VehicleFactory, acting
from tests.services.pickups_story import MONDAY, SUNDAY_EVENING, Round, make_round

pytestmark = pytest.mark.django_db


@pytest.fixture
def world() -> Round:
    return make_round()


@pytest.fixture
def proposal(world: Round) -> Proposal:
    """All three places on Monday's round, and a shift on Tuesday, when nobody is open."""
    monday = world.wish().shifts[0]
    tuesday = replace(monday, day=MONDAY + timedelta(days=1))
    return world.proposal(replace(world.wish(), shifts=(monday, tuesday)))


def ask(
    world: Round, proposal: Proposal, *, question_id: UUID | None = None, **supposing: Any
) -> Question:
    return services.ask_what_if(
        world.maker_actor,
        question_id=question_id or new_id(),
        proposal_id=proposal.id,
        supposing=WhatIf(**supposing),
    )


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What came of a question, with its sums as numbers."""

    sums: Outcome
    change: Outcome
    comes_in: list[dict[str, str]]
    falls_out: list[dict[str, str]]
    moves: list[dict[str, str]]
    hindrances: list[str]


def asked(world: Round, proposal: Proposal, **supposing: Any) -> Answer:
    """The answer of a worker."""
    question = ask(world, proposal, **supposing)
    services.answer_question(question_id=question.id)
    question.refresh_from_db()
    assert question.finished_at is not None
    answer = question.answer
    assert answer is not None
    sums, change = (outcome_from_data(answer[name]) for name in ("sums", "change"))
    return Answer(**{**answer, "sums": sums, "change": change})


def test_with_nothing_supposed_nothing_changes(world: Round, proposal: Proposal) -> None:
    answer = asked(world, proposal)
    assert set(vars(answer.change).values()) == {0}
    assert (answer.comes_in, answer.falls_out, answer.moves) == ([], [], [])


@pytest.mark.parametrize("day", [None, MONDAY])
def test_a_closed_place_is_left_out_and_stands_full(
    world: Round, proposal: Proposal, day: date | None
) -> None:
    place = world.places[1]
    answer = asked(world, proposal, closed_place_id=place.id, closed_day=day)
    assert [one["name"] for one in answer.falls_out] == [place.name]
    assert (answer.change.places, answer.hindrances) == (-1, [])
    assert answer.change.mass_g < 0
    assert answer.change.full_days > 0


def test_closed_on_another_day_it_is_visited_as_before(world: Round, proposal: Proposal) -> None:
    tuesday = MONDAY + timedelta(days=1)
    answer = asked(world, proposal, closed_place_id=world.places[1].id, closed_day=tuesday)
    assert (answer.change.places, answer.falls_out) == (0, [])


def test_a_small_van_more_brings_in_what_a_small_van_left(world: Round) -> None:
    """Each bag is near 9 kg: a payload of 10 kg takes one, and another such van one more."""
    small = VehicleFactory.create(community=world.community, maker=world.maker, payload_g=10_000)
    proposal = world.proposal(vehicle_id=small.id)
    answer = asked(world, proposal, more_like_vehicle_id=small.id)
    assert (answer.change.places, answer.change.shifts) == (1, 1)
    assert len(answer.comes_in) == 1
    assert answer.hindrances
    large = asked(world, proposal, more_like_vehicle_id=small.id, payload_g=100_000)
    assert large.sums.places == len(world.places)


def test_without_its_only_van_nobody_comes(world: Round, proposal: Proposal) -> None:
    answer = asked(world, proposal, without_vehicle_id=world.vehicle.id)
    assert (answer.sums.places, answer.sums.shifts, answer.sums.cost) == (0, 0, Decimal(0))
    assert len(answer.falls_out) == len(world.places)
    assert answer.hindrances


def test_a_smaller_payload_leaves_something_out(world: Round, proposal: Proposal) -> None:
    answer = asked(world, proposal, payload_g=10_000)
    assert answer.sums.places == 1
    assert answer.hindrances


def test_a_dearer_kilometre_costs_what_it_costs_more(world: Round, proposal: Proposal) -> None:
    """The same round: its metres at the difference of the rates, to the cent."""
    dearer = world.vehicle.cost_per_km + Decimal("1.00")
    answer = asked(world, proposal, cost_per_km=dearer)
    assert answer.change.distance_m == 0
    kilometres = Decimal(answer.sums.distance_m) / 1000
    assert abs(answer.change.cost - kilometres) <= Decimal("0.01")


def test_a_dearer_kilometre_makes_it_worth_more_to_end_a_long_wait(
    world: Round, proposal: Proposal
) -> None:
    """Each day beyond 28 adds a tenth of what a stop costs, which its kilometres make dearer.

    All three were put there months ago and are visited on Monday. Costs are rounded before they
    are multiplied by the days, so the sum may be off by a few hundredths for each place.
    """
    dearer = world.vehicle.cost_per_km + Decimal("1.00")
    answer = asked(world, proposal, cost_per_km=dearer)
    more = Decimal(0)
    for by_day in groundwork_from_data(proposal.problem or {}).worths.values():
        worth = by_day[0]
        assert worth.waited_days > 28
        days = Decimal(worth.waited_days - 28)
        more += Decimal(worth.way_m) / 1000 * (worth.fill_fraction**2 + days / 10)
    assert abs(answer.change.worth - more) <= Decimal("0.50")
    assert answer.change.worth > 10 * Decimal("0.50")


def test_what_a_full_container_costs_is_part_of_what_visits_are_worth(
    world: Round, proposal: Proposal
) -> None:
    nothing, more = (
        asked(world, proposal, overflow_cost=Decimal(cost)) for cost in ("0", "100.00")
    )
    assert nothing.change.worth < 0 < more.change.worth
    assert nothing.hindrances == []


def test_a_shift_that_ends_early_leaves_something_out(world: Round, proposal: Proposal) -> None:
    """Twenty minutes are less than the round takes."""
    answer = asked(world, proposal, ends=time(8, 20))
    assert answer.change.places < 0
    with pytest.raises(InvalidInput) as refusal:
        asked(world, proposal, ends=time(7))
    assert [fault.field for fault in refusal.value.fields] == ["ends"]


def test_the_proposal_stays_as_it_is(world: Round, proposal: Proposal) -> None:
    before = Proposal.objects.values().get()
    asked(world, proposal, closed_place_id=world.places[0].id)
    assert Proposal.objects.values().get() == before


@pytest.mark.parametrize(
    "name", ["closed_place_id", "without_vehicle_id", "more_like_vehicle_id", "closed_day"]
)
def test_what_is_not_in_the_proposal_is_named(world: Round, proposal: Proposal, name: str) -> None:
    unknown: Any = date(2026, 5, 1) if name == "closed_day" else new_id()
    with pytest.raises(InvalidInput) as refusal:
        asked(world, proposal, **{name: unknown})
    assert [fault.field for fault in refusal.value.fields] == [name]


class TestTheQuestion:
    def test_it_is_asked_once_and_answered_once(self, world: Round, proposal: Proposal) -> None:
        question = ask(world, proposal, payload_g=10_000)
        assert ask(world, proposal, question_id=question.id, payload_g=10_000) == question
        with pytest.raises(DifferentBody):
            ask(world, proposal, question_id=question.id, payload_g=20_000)
        for _ in range(2):
            services.answer_question(question_id=question.id)
        answered = question_for(world.maker_actor, question.id)
        assert answered.answer is not None
        assert answered.iterations >= 1

    def test_the_next_one_takes_its_place(self, world: Round, proposal: Proposal) -> None:
        first = ask(world, proposal, payload_g=10_000)
        second = ask(world, proposal, payload_g=20_000)
        services.answer_question(question_id=first.id)
        with pytest.raises(NotFound):
            question_for(world.maker_actor, first.id)
        assert question_for(world.maker_actor, second.id).finished_at is None

    def test_a_colleagues_question_stays(self, world: Round, proposal: Proposal) -> None:
        own = ask(world, proposal, payload_g=10_000)
        colleague = acting(world.community, Role.MAKER, world.maker)
        services.ask_what_if(
            colleague, question_id=new_id(), proposal_id=proposal.id, supposing=WhatIf()
        )
        assert question_for(world.maker_actor, own.id) == own

    def test_it_ends_with_what_there_is(
        self, world: Round, proposal: Proposal, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        question = ask(world, proposal, overflow_cost=Decimal(20))
        services.stop_question(world.maker_actor, question_id=question.id)
        steps: list[int] = []

        def counted(problem: Problem, *, stop: StopRule, **settings: Any) -> Plan:
            def count(best_cost: int) -> bool:
                steps.append(best_cost)
                return stop(best_cost)

            return solve(problem, stop=count, **settings)

        monkeypatch.setattr("network.pickups.services.supposing.solve", counted)
        services.answer_question(question_id=question.id)
        question.refresh_from_db()
        assert len(steps) == 1
        assert question.answer is not None

    def test_where_the_proposal_was_booked_meanwhile_it_says_so(
        self, world: Round, proposal: Proposal
    ) -> None:
        question = ask(world, proposal, payload_g=10_000)
        services.book_proposal(world.maker_actor, proposal_id=proposal.id, at=SUNDAY_EVENING)
        services.answer_question(question_id=question.id)
        question.refresh_from_db()
        assert (question.answer, "booked" in question.failure) == (None, True)

    def test_a_worker_that_died_over_it_leaves_it_for_the_next_one(
        self, world: Round, proposal: Proposal, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        question = ask(world, proposal, payload_g=10_000)
        with monkeypatch.context() as dying:
            dying.setattr("network.pickups.services.supposing.solve", _die)
            with pytest.raises(KeyboardInterrupt):
                services.answer_question(question_id=question.id)
        services.answer_question(question_id=question.id)
        question.refresh_from_db()
        assert question.answer is not None


def _die(*_arguments: object, **_settings: object) -> None:
    raise KeyboardInterrupt


class TestPlannedSo:
    def planned(self, world: Round, proposal: Proposal, **supposing: Any) -> dict[str, Any]:
        new = services.plan_what_if(
            world.maker_actor,
            proposal_id=proposal.id,
            new_id=new_id(),
            supposing=WhatIf(**supposing),
            at=SUNDAY_EVENING,
        )
        services.solve_proposal(proposal_id=new.id)
        new.refresh_from_db()
        assert new.plan is not None
        return dict(new.plan)

    @pytest.mark.parametrize("day", [None, MONDAY])
    def test_it_comes_to_what_was_answered(
        self, world: Round, proposal: Proposal, day: date | None
    ) -> None:
        supposing = {"closed_place_id": world.places[1].id, "closed_day": day}
        answer = asked(world, proposal, **supposing)
        outcome = self.planned(world, proposal, **supposing)["outcome"]
        assert (outcome["places"], outcome["distance_m"], Decimal(outcome["cost"])) == (
            answer.sums.places,
            answer.sums.distance_m,
            answer.sums.cost,
        )
        proposal.refresh_from_db()
        assert proposal.status == Proposal.Status.READY

    def test_an_earlier_end_is_kept(self, world: Round, proposal: Proposal) -> None:
        [route] = self.planned(world, proposal, ends=time(8, 20))["routes"]
        assert route["ends_at"] <= "2026-03-02T08:20:00Z"

    def test_a_van_that_is_only_supposed_is_not_planned_with(
        self, world: Round, proposal: Proposal
    ) -> None:
        with pytest.raises(WrongState, match="no such van yet"):
            self.planned(world, proposal, more_like_vehicle_id=world.vehicle.id)
