"""Why a place of the cross (see pickup_problems) is in or out, in numbers worked by hand."""

from dataclasses import replace
from decimal import Decimal

from network.pickups.core.explain import Explanation, explain
from network.pickups.core.plan import Plan
from network.pickups.core.problem import Problem
from network.pickups.core.reasons import REASON_TEXT, ReasonCode
from network.pickups.core.schedule import retime
from network.pickups.core.travel import NO_ROAD, Travel
from tests.core.pickup_problems import (
    HOUR_S,
    TERN,
    cross,
    cross_travel,
    cross_with,
    hours,
    load,
    place,
    shift,
    visit_day,
)

THREE = {"tern-0": ("north", "east", "south")}


def explained(problem: Problem, plan: Plan, place_id: str) -> Explanation:
    return next(one for one in explain(problem, plan) if one.place_id == place_id)


def test_a_visit_is_explained_by_what_its_stop_adds() -> None:
    # With east: 3 + 4 + 4 + 3 km; without: 3 + 6 + 3. Two kilometres and 200 s more, and the
    # ten minutes of work: 2 x 0.50 + 800 s x 12 / 3600 = 1.00 + 2.67.
    problem = cross()
    plan = retime(problem, THREE)
    found = explained(problem, plan, "east")
    assert (found.day, found.shift_id) == (0, "tern-0")
    assert found.arrival_s == plan.routes[0].stops[1].arrival_s
    (reason,) = found.reasons
    assert reason.code is ReasonCode.VISITED
    assert reason.params["extra_m"] == 2_000
    assert reason.params["extra_s"] == 800
    assert reason.params["extra_cost"] == Decimal("3.67")
    assert reason.text == (
        "Visited on day 1 at 09:16: the stop adds 2.0 km and 14 min and costs 3.67 against a"
        " worth of 15.00."
    )


def test_the_figures_of_a_stop_add_up_to_its_reason() -> None:
    problem = cross()
    found = explained(problem, retime(problem, THREE), "east")
    assert found.figures is not None
    cost = found.figures.extra_cost
    parts = (cost.shift, cost.distance, cost.time)
    assert parts == (Decimal(0), Decimal("1.00"), Decimal("2.67"))
    assert cost.total == found.reasons[0].params["extra_cost"]


def test_the_only_visit_of_a_shift_is_explained_by_the_whole_of_it() -> None:
    problem = cross_with(place("north"))
    (found,) = explain(problem, retime(problem, {"tern-0": ("north",)}))
    # 6 km and 20 minutes: 10 + 3 + 4.
    assert found.reasons[0].params["extra_cost"] == 17


def test_a_visit_that_was_asked_for_says_so() -> None:
    problem = cross_with(place("north", required=True))
    (found,) = explain(problem, retime(problem, {"tern-0": ("north",)}))
    assert [reason.code for reason in found.reasons] == [ReasonCode.ASKED_FOR, ReasonCode.VISITED]


def test_a_place_left_out_is_told_the_cheapest_way_to_visit_it() -> None:
    # Between south and home: 4 + 3 - 3 km more, 400 s and the work: 2.00 for the way, and
    # 14.00 - 10.67 for the time.
    problem = cross(places=(*cross().places[:3], place("west", visit_day(worth=3))))
    plan = retime(problem, THREE)
    found = explained(problem, plan, "west")
    assert not found.is_planned
    assert found.arrival_s is None
    (reason,) = found.reasons
    assert reason.code is ReasonCode.NOT_WORTH_IT
    assert reason.params == {
        "day": 0,
        "shift_id": "tern-0",
        "extra_m": 4_000,
        "extra_s": 1_000,
        "extra_cost": Decimal("5.33"),
        "worth": 3,
    }
    assert "against a worth of 3.00" in reason.text


def test_a_place_that_would_pay_is_told_so() -> None:
    problem = cross()
    (reason,) = explained(problem, retime(problem, THREE), "west").reasons
    assert reason.code is ReasonCode.WOULD_PAY
    assert reason.text.endswith("adding it would pay.")


def test_a_full_van_says_how_much_too_heavy_it_would_be() -> None:
    problem = cross(vans=(replace(TERN, payload_g=65_000),))
    (reason,) = explained(problem, retime(problem, THREE), "west").reasons
    assert reason.code is ReasonCode.NO_PAYLOAD_LEFT
    assert reason.params["excess_g"] == 15_000
    assert reason.text == "On day 1 van tern would be 15.0 kg too heavy with this place."


def test_a_full_hold_or_compartment_says_how_much_too_full_it_would_be() -> None:
    hold = cross(vans=(replace(TERN, volume_ml=700_000),))
    compartment = cross(vans=(replace(TERN, stream_volume_ml={"caps": 650_000}),))
    for problem, excess_ml in ((hold, 100_000), (compartment, 150_000)):
        (reason,) = explained(problem, retime(problem, THREE), "west").reasons
        assert reason.code is ReasonCode.NO_VOLUME_LEFT
        assert reason.params["excess_ml"] == excess_ml


def test_a_shift_without_time_says_how_late_it_would_be() -> None:
    # The three take from 08:55 to 09:49 (3,200 s); with west the van is home 1,000 s later.
    problem = cross(shifts=(shift(end_s=10 * HOUR_S),))
    (reason,) = explained(problem, retime(problem, THREE), "west").reasons
    assert reason.code is ReasonCode.NO_TIME_LEFT
    assert reason.params["late_s"] == 8 * HOUR_S + 55 * 60 + 3_200 + 1_000 - 10 * HOUR_S


def test_a_door_that_shuts_before_the_van_could_come_counts_as_late() -> None:
    shut = place("west", visit_day(windows=(hours(8, 8.5),)))
    early = place("north", visit_day(windows=(hours(8, 8.5),)))
    problem = cross_with(early, shut, shifts=(shift(start_s=8 * HOUR_S + 300),))
    (reason,) = explained(problem, retime(problem, {"tern-0": ("north",)}), "west").reasons
    # 08:10 at the first place, on the way at 08:20, 400 s further 08:26:40, done by 08:36:40.
    assert reason.code is ReasonCode.NO_TIME_LEFT
    assert reason.params["late_s"] == 400


def test_streams_that_would_mix_are_named() -> None:
    bottles = visit_day(loads=(load(stream_id="bottles"),))
    apart = (frozenset({"caps", "bottles"}),)
    problem = cross(places=(place("north"), place("west", bottles)), apart=apart)
    (reason,) = explained(problem, retime(problem, {"tern-0": ("north",)}), "west").reasons
    assert reason.code is ReasonCode.STREAMS_WOULD_MIX
    assert {reason.params["one_stream"], reason.params["other_stream"]} == {"caps", "bottles"}


def test_a_missing_way_is_named() -> None:
    sound = cross_travel()
    seconds = sound.seconds.copy()
    seconds[4, 1] = seconds[1, 4] = NO_ROAD
    travel = Travel(ids=sound.ids, metres=sound.metres, seconds=seconds)
    problem = cross(places=(place("north"), place("west")), travel=travel)
    (reason,) = explained(problem, retime(problem, {"tern-0": ("north",)}), "west").reasons
    assert reason.code is ReasonCode.NO_ROAD


def test_what_could_never_be_visited_is_told_by_its_obstacle() -> None:
    problem = cross_with(place("west", visit_day(loads=(load(507),))))
    (found,) = explain(problem, retime(problem, {}))
    assert found.reasons[0].text == "Too heavy for van tern by 7.0 kg."


def test_of_several_vans_the_one_that_comes_nearest_is_named() -> None:
    vans = (TERN, replace(TERN, id="gull", payload_g=505_000))
    west = place("west", visit_day(loads=(load(507),)))
    problem = cross_with(west, vans=vans, shifts=(shift("tern"), shift("gull")))
    (found,) = explain(problem, retime(problem, {}))
    assert found.reasons[0].params == {"van_id": "gull", "excess_g": 2_000}


def test_the_best_of_several_days_is_offered() -> None:
    days = (visit_day(0, worth=1), visit_day(1, worth=9))
    problem = cross_with(place("west", *days), days=2, shifts=(shift(), shift(day=1)))
    (found,) = explain(problem, retime(problem, {}))
    assert found.reasons[0].params["day"] == 1


def test_every_reason_has_a_sentence() -> None:
    assert set(REASON_TEXT) == set(ReasonCode)
    assert all(text.endswith(".") for text in REASON_TEXT.values())
