"""Invented communities, and the policies that are compared on them."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from network.errors import InvalidInput
from network.pickups.core.plan import Plan
from network.pickups.core.problem import Problem
from network.pickups.core.solve import solve
from network.simulation.compare import Community, compare, estimate, live, policy_of
from network.simulation.core.policies import (
    FixedRounds,
    Morning,
    Planned,
    PredictiveThreshold,
    Source,
    Threshold,
)
from network.simulation.core.replay import Outcome, replay
from network.simulation.core.rounds import vans_go_out
from network.simulation.core.terms import Terms
from network.simulation.core.world import World, make_world
from tests.benchmarks.planning.tables import at_equal_overflow

TERMS = Terms(vans=1, iterations=20)
TINY = Community(places=12, vans=1, days=8, warm_up_days=5, iterations=20)


def world_of(places: int = 12, days: int = 30, seed: int = 3) -> World:
    return make_world(places=places, days=days, seed=seed)


def morning_of(world: World, level: float, *, day: int = 7) -> Morning:
    """A Monday on which all containers are so full, and nothing was seen of any."""
    places = len(world.places)
    return Morning(
        world=world,
        terms=TERMS,
        day=day,
        level=np.full(places, level),
        sightings=[[] for _ in range(places)],
        habits={},
    )


def test_the_same_seed_makes_the_same_world_and_another_seed_another() -> None:
    one, again, other = world_of(), world_of(), world_of(seed=4)
    assert one.ids == again.ids
    assert np.array_equal(one.deposits_ml, again.deposits_ml)
    assert np.array_equal(one.misjudges, again.misjudges)
    assert not np.array_equal(one.deposits_ml.sum(axis=1), other.deposits_ml.sum(axis=1))


def test_nothing_is_brought_on_days_on_which_a_place_does_not_work() -> None:
    world = world_of(places=40, days=90)
    assert world.deposits_ml[~world.running].sum() == 0
    assert world.deposits_ml[world.running].sum() > 0
    schools = [row for row, place in enumerate(world.places) if place.kind.keeps_terms]
    assert schools
    assert not world.running[schools].all(axis=1).any()


def test_a_longer_world_of_the_same_places_has_some_in_town_and_some_far_out() -> None:
    world = world_of(places=60)
    row = world.travel.index("workshop")
    away_m = world.travel.metres[row, 1:]
    assert (away_m < 5_000).sum() >= 20
    assert (away_m > 8_000).sum() >= 10


def test_the_same_seed_comes_to_the_same_outcome() -> None:
    assert live(TINY, "plan", seed=5) == live(TINY, "plan", seed=5)


def test_what_is_collected_lost_and_left_is_what_was_brought() -> None:
    """Mass is conserved but for what still stands in containers at the end."""
    world = world_of(places=10, days=40)
    outcome = replay(world, TERMS, Threshold(limit=0.5, source=Source.SENSOR), warm_up=0, seed=1)
    brought_g = TERMS.mass_g(float(world.deposits_ml[:, :30].sum()))
    left_most_g = TERMS.mass_g(float(world.volume_ml.sum()))
    gone_g = outcome.collected_g + outcome.lost_g
    assert brought_g - left_most_g <= gone_g <= brought_g + 1_000


def test_nobody_collects_without_driving_and_every_place_day_is_counted() -> None:
    world = world_of(places=10, days=40)
    never = Threshold(limit=2.0, source=Source.SENSOR)
    outcome = replay(world, TERMS, never, warm_up=0, seed=1)
    assert (outcome.visits, outcome.distance_m, outcome.collected_g) == (0, 0, 0)
    assert outcome.place_days == world.running[:, :30].sum()
    assert outcome.full_place_days > 0


def test_a_lower_threshold_leaves_fewer_full_and_costs_more() -> None:
    world = world_of(places=20, days=45, seed=9)
    often, seldom = (
        replay(world, TERMS, Threshold(limit=limit, source=Source.SENSOR), warm_up=5, seed=1)
        for limit in (0.3, 0.9)
    )
    assert often.full_share < seldom.full_share
    assert often.money_per_t > seldom.money_per_t
    assert often.visits > seldom.visits


def test_a_full_container_is_due_for_every_threshold_and_an_empty_one_for_none() -> None:
    world = world_of()
    for policy in (
        Threshold(limit=0.7, source=Source.SENSOR),
        PredictiveThreshold(risk=0.5, source=Source.SENSOR),
    ):
        full, empty = (policy.choices(morning_of(world, level)) for level in (1.0, 0.0))
        assert {choice.place for choice in full} == set(morning_of(world, 1.0).open_places())
        assert empty == []


def test_millrace_offers_no_visit_that_would_not_pay_for_its_stop() -> None:
    world = world_of()
    policy = Planned(full_day_cost=Decimal(5), source=Source.SENSOR)
    offered = policy.choices(morning_of(world, 0.9))
    assert offered
    for choice in offered:
        service_s = world.places[choice.place].service_s
        for _, worth in choice.options.values():
            assert worth > TERMS.cost_per_hour * service_s / 3600


def test_a_dearer_full_day_makes_visits_worth_more() -> None:
    world = world_of()
    cheap, dear = (
        Planned(full_day_cost=Decimal(cost), source=Source.FORESIGHT).choices(
            morning_of(world, 0.95)
        )
        for cost in (0, 20)
    )
    worth = {choice.place: choice.options for choice in cheap}
    raised = [
        dear_worth > worth[choice.place][day][1]
        for choice in dear
        for day, (_, dear_worth) in choice.options.items()
        if choice.place in worth and day in worth[choice.place]
    ]
    assert any(raised)


def test_what_would_be_lost_is_counted_by_its_value() -> None:
    """With the coming known, all full: a visit today saves what three days bring, at 1.00 a kg.

    What is more than a whole container a day is lost whoever comes.
    """
    world = world_of()
    policy = Planned(full_day_cost=Decimal(1), source=Source.FORESIGHT)
    worthless, worth_one = (
        {
            choice.place: choice.options[0][1]
            for choice in policy.choices(replace(morning_of(world, 1.0), terms=terms))
            if len(choice.options) == 3
        }
        for terms in (replace(TERMS, value_per_kg=Decimal(0)), TERMS)
    )
    assert len(worthless) > 3
    for place, worth in worthless.items():
        fits_ml = np.minimum(world.deposits_ml[place, 7:10], world.volume_ml[place])
        more = float(worth_one[place] - worth)
        assert more == pytest.approx(TERMS.mass_g(float(fits_ml.sum())) / 1000, abs=0.02)


def test_the_search_of_a_morning_begins_from_what_was_planned_before() -> None:
    world = world_of(places=30, days=40)
    starts: list[Plan | None] = []

    def router(problem: Problem, *, seed: int, iterations: int, warm_start: Plan | None) -> Plan:
        starts.append(warm_start)
        plan = solve(problem, seed=seed, iterations=iterations, warm_start=warm_start)
        if warm_start is not None:
            assert plan.cost - plan.worth <= warm_start.cost - warm_start.worth
        return plan

    policy = Planned(full_day_cost=Decimal(2), source=Source.SENSOR)
    replay(world, TERMS, policy, warm_up=0, seed=1, router=router)
    begun = [plan for plan in starts if plan is not None]
    assert begun
    assert all(route.visits for plan in begun for route in plan.routes)


def test_fixed_rounds_come_every_so_many_weeks_on_one_weekday() -> None:
    world = world_of(places=25, days=80)
    policy = FixedRounds(limit=0.8)
    visits: dict[int, list[int]] = {}
    for day in range(60):
        if vans_go_out(world, day):
            for choice in policy.choices(morning_of(world, 0.5, day=day)):
                visits.setdefault(choice.place, []).append(day)
    always_open = [
        row for row in visits if world.running[row, [d for d in range(60) if d % 7 < 5]].all()
    ]
    assert always_open
    for row in always_open:
        gaps = np.diff(visits[row])
        if len(gaps) and gaps.min() >= 7:
            assert {day % 7 for day in visits[row]} == {visits[row][0] % 7}
            assert len(set(gaps)) == 1


def test_policies_are_named_and_nonsense_is_refused() -> None:
    assert policy_of("threshold=0.5") == Threshold(limit=0.5, source=Source.SENSOR)
    with pytest.raises(InvalidInput, match="is one of"):
        policy_of("coin")
    with pytest.raises(InvalidInput, match="not a number"):
        policy_of("plan=dear")
    with pytest.raises(InvalidInput) as refused:
        replace(TINY, places=0)
    assert refused.value.fields[0].field == "places"


def test_a_comparison_gives_means_with_their_intervals() -> None:
    ((name, figures),) = compare(TINY, ["threshold=0.6"], seeds=[1, 2])
    assert name == "threshold=0.6"
    assert figures["money_per_t"].mean > 0
    assert figures["money_per_t"].half_width is not None


def test_a_mean_of_four_seeds_has_the_interval_of_students_t() -> None:
    """1, 2, 3, 4: mean 2.5, s = 1.29099; t(0.975, 3) = 3.18245 (tables): 2.0543."""
    found = estimate([1.0, 2.0, 3.0, 4.0])
    assert found.mean == 2.5
    assert found.half_width == pytest.approx(2.0543, abs=0.0005)
    assert estimate([7.0]).half_width is None


def test_policies_are_compared_where_as_many_stand_full_and_nothing_is_extrapolated() -> None:
    base = live(TINY, "threshold=0.6", seed=1)
    swept: list[Outcome] = [
        replace(base, full_place_days=days, place_days=100, money=money, collected_g=1e6)
        for days, money in ((1, 300), (5, 100))
    ]
    assert at_equal_overflow(swept, "money_per_t", 0.03) == pytest.approx(200)
    assert at_equal_overflow(swept, "money_per_t", 0.06) is None
