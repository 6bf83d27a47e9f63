"""The cross (see pickup_problems) weighed for money, for few shifts, and against overflow."""

from dataclasses import replace
from decimal import Decimal

from network.pickups.core.alternatives import Aim, front, weighed
from network.pickups.core.outcome import Outcome, outcome_of
from network.pickups.core.problem import Problem
from network.pickups.core.schedule import retime
from network.pickups.core.solve import solve
from tests.core.pickup_problems import NAMES, TERN, cross, place, shift, visit_day

# Of each visit's worth of 15 so much stands for full days avoided.
FULL_DAYS_COST = Decimal(10)
COSTS = {name: {0: FULL_DAYS_COST, 1: FULL_DAYS_COST} for name in NAMES}
NOTHING = Outcome(
    places=0,
    shifts=0,
    distance_m=0,
    duration_s=0,
    mass_g=0,
    cost=Decimal(0),
    worth=Decimal(0),
    full_days=Decimal(12),
)
BALANCED = replace(
    NOTHING, places=4, shifts=2, mass_g=80_000, cost=Decimal(50), full_days=Decimal(3)
)


def two_days() -> Problem:
    """Each place has a day of its own on which it is open, so that one shift reaches two."""
    days = {"north": 0, "south": 1, "east": 0, "west": 1}
    return cross(
        places=tuple(place(name, visit_day(day)) for name, day in days.items()),
        days=2,
        shifts=(shift(), shift(day=1)),
    )


def outcome_for(aim: Aim, problem: Problem) -> Outcome:
    plan = solve(weighed(problem, aim, full_days_costs=COSTS), seed=1, iterations=300)
    return outcome_of(problem, retime(problem, plan.orders))


def test_the_balanced_one_is_the_problem_itself() -> None:
    problem = cross()
    assert weighed(problem, Aim.BALANCED, full_days_costs=COSTS) == problem


def test_a_full_day_counts_a_quarter_for_money_and_four_times_against_overflow() -> None:
    # 15 - 10 + 10 / 4 and 15 - 10 + 10 x 4.
    worths = {
        aim: {
            option.worth
            for one in weighed(cross(), aim, full_days_costs=COSTS).places
            for option in one.days
        }
        for aim in (Aim.LEAST_MONEY, Aim.LEAST_OVERFLOW)
    }
    assert worths == {Aim.LEAST_MONEY: {Decimal("7.50")}, Aim.LEAST_OVERFLOW: {Decimal("45.00")}}


def test_for_few_shifts_a_van_counts_as_if_it_were_out_all_day() -> None:
    # 2 x 10 for the shift and four hours at 12.
    problem = cross(shifts=(shift(end_s=12 * 3600),))
    weighed_van = weighed(problem, Aim.FEWEST_SHIFTS, full_days_costs=COSTS).vans[0]
    assert weighed_van == replace(TERN, cost_per_shift=Decimal(68))


def test_against_overflow_more_is_visited_than_for_money() -> None:
    # Four stops cost 33: at 15 each they pay, at 7.50 they do not.
    problem = cross()
    assert outcome_for(Aim.LEAST_MONEY, problem).places < 4
    assert outcome_for(Aim.LEAST_OVERFLOW, problem).places == 4


def test_for_few_shifts_fewer_vans_go_out() -> None:
    problem = two_days()
    fewest, least_overflow = (
        outcome_for(aim, problem) for aim in (Aim.FEWEST_SHIFTS, Aim.LEAST_OVERFLOW)
    )
    assert fewest.shifts < least_overflow.shifts == 2


class TestFront:
    def test_one_that_is_better_in_something_stays(self) -> None:
        cheaper = replace(BALANCED, cost=Decimal(40), full_days=Decimal(6))
        assert front([(Aim.BALANCED, BALANCED), (Aim.LEAST_MONEY, cheaper)]) == [
            Aim.BALANCED,
            Aim.LEAST_MONEY,
        ]

    def test_one_that_is_worse_in_all_or_the_same_is_dropped(self) -> None:
        worse = replace(BALANCED, cost=Decimal(60), full_days=Decimal(4))
        found = [
            (Aim.BALANCED, BALANCED),
            (Aim.LEAST_MONEY, worse),
            (Aim.FEWEST_SHIFTS, replace(BALANCED)),
        ]
        assert front(found) == [Aim.BALANCED]

    def test_an_earlier_one_goes_where_a_later_one_is_better(self) -> None:
        few = replace(BALANCED, shifts=1, cost=Decimal(45), full_days=Decimal(5))
        found = [
            (Aim.BALANCED, BALANCED),
            (Aim.LEAST_MONEY, replace(few, cost=Decimal(46))),
            (Aim.FEWEST_SHIFTS, few),
        ]
        assert front(found) == [Aim.BALANCED, Aim.FEWEST_SHIFTS]

    def test_that_nobody_goes_out_is_no_alternative(self) -> None:
        assert front([(Aim.BALANCED, BALANCED), (Aim.LEAST_MONEY, NOTHING)]) == [Aim.BALANCED]
