"""What is expected in a container, and the masses that volumes and counts stand for."""

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.materials import catalogue
from network.materials.core.amounts import mass_of_count, mass_of_volume
from network.materials.core.figures import Figure
from network.places.core.calendar import DaySpan, PlaceCalendar
from network.places.core.fill import (
    Emptied,
    ExpectedFill,
    FillRate,
    KnownLevel,
    LevelOrigin,
    RateBasis,
    expect_fill,
    learn_rate,
    starting_rate,
)

CAPS = catalogue.items()["bottle-cap"]
BOTTLES = catalogue.items()["milk-bottle"]
ALL_YEAR = PlaceCalendar(windows=())
MONDAY = date(2026, 11, 2)


def bulk(item_slug: str) -> Figure:
    figure = catalogue.items()[item_slug].bulk_density
    assert figure is not None
    return figure


def expected(day: date, *, percent: int = 40, calendar: PlaceCalendar = ALL_YEAR) -> ExpectedFill:
    return expect_fill(
        volume_ml=60_000,
        level=KnownLevel(percent=percent, day=MONDAY, origin=LevelOrigin.REPORTED),
        rate=FillRate(ml_per_running_day=Fraction(3000), basis=RateBasis.PICKUPS, pickups=4),
        calendar=calendar,
        day=day,
        bulk_density=bulk("bottle-cap"),
    )


def test_sixty_litres_of_loose_caps_are_nine_kilograms() -> None:
    # Geometric estimate of loose caps, 110 to 200 kg/m3; no authoritative figure found.
    mass = mass_of_volume(60_000, bulk("bottle-cap"))
    assert (mass.mass_g, mass.low_g, mass.high_g) == (9000, 6600, 12000)


def test_sixty_litres_of_loose_bottles_are_1380_grams() -> None:
    # WRAP, in Annex C to the LAPCAP guidance (gov.uk, 14 July 2025): 23 kg/m3.
    assert mass_of_volume(60_000, bulk("milk-bottle")).mass_g == 1380


def test_a_van_of_three_cubic_metres_is_heavy_with_caps_and_light_with_bottles() -> None:
    assert mass_of_volume(3_000_000, bulk("bottle-cap")).mass_g == 450_000
    assert mass_of_volume(3_000_000, bulk("milk-bottle")).mass_g == 69_000


def test_a_thousand_caps_of_two_grams_are_two_kilograms() -> None:
    figure = Figure(
        value=Decimal("2.0"),
        low=Decimal("1.6"),
        high=Decimal("2.4"),
        unit="g",
        source="two grams, give or take a fifth: from memory",
        verified=False,
    )
    mass = mass_of_count(1000, figure)
    assert (mass.mass_g, mass.low_g, mass.high_g) == (2000, 1600, 2400)


def test_a_figure_without_a_range_gives_a_mass_without_one() -> None:
    # WRAP, as above: pots, tubs and trays 25 kg/m3.
    mass = mass_of_volume(100_000, bulk("tub"))
    assert (mass.mass_g, mass.low_g, mass.high_g) == (2500, None, None)


def test_us_bulk_densities_convert_as_published() -> None:
    # EPA Volume-to-Weight (April 2016), through a government help page: mixed plastics
    # 40 lb/yd3 and film 35; an international pound is 0.45359237 kg, a yard 0.9144 m.
    kg_m3_per_lb_yd3 = Decimal("0.45359237") / Decimal("0.9144") ** 3
    assert round(kg_m3_per_lb_yd3, 6) == Decimal("0.593276")
    assert bulk("milk-bottle").high == round(40 * kg_m3_per_lb_yd3, 1)
    assert bulk("film").high == round(35 * kg_m3_per_lb_yd3, 1)


def test_a_figure_of_another_unit_is_refused() -> None:
    assert CAPS.unit_mass is not None
    with pytest.raises(ValueError, match="kg/m3"):
        mass_of_volume(1000, CAPS.unit_mass)
    with pytest.raises(ValueError, match="unit mass"):
        mass_of_count(1000, bulk("bottle-cap"))


def test_a_container_fills_by_the_rate_on_each_working_day() -> None:
    fill = expected(MONDAY + timedelta(days=7))
    assert (fill.volume_ml, fill.percent, fill.running_days) == (39_000, 65, 5)
    assert fill.mass is not None
    assert fill.mass.mass_g == 5850
    assert fill.rests_on == (
        "Reported 40 % full on 2 November 2026. "
        "5 working days since, at 3.0 L a day as in 4 past pickups."
    )


def test_a_two_week_closure_leaves_the_expectation_unchanged() -> None:
    shut = PlaceCalendar(
        windows=(),
        closures=(DaySpan(first_day=date(2026, 11, 7), last_day=date(2026, 11, 20)),),
    )
    friday_night, monday_after = date(2026, 11, 7), date(2026, 11, 21)
    before, after = (expected(day, calendar=shut) for day in (friday_night, monday_after))
    assert before == after
    assert before.volume_ml > expected(MONDAY).volume_ml


def test_a_container_is_never_expected_to_hold_more_than_its_volume() -> None:
    fill = expected(MONDAY + timedelta(days=365))
    assert (fill.volume_ml, fill.percent, fill.is_full) == (60_000, 100, True)


def test_a_heaped_bag_counts_as_full() -> None:
    assert expected(MONDAY, percent=120).volume_ml == 60_000


def test_without_a_bulk_density_no_mass_is_made_up() -> None:
    fill = expect_fill(
        volume_ml=60_000,
        level=KnownLevel(percent=0, day=MONDAY, origin=LevelOrigin.EMPTIED),
        rate=starting_rate("school", 60_000),
        calendar=ALL_YEAR,
        day=MONDAY + timedelta(days=1),
        bulk_density=catalogue.items()["jerrycan"].bulk_density,
    )
    assert fill.mass is None
    assert fill.rests_on == (
        "Emptied on 2 November 2026. "
        "1 working day since, at 3.0 L a day: a starting guess, until two pickups are known."
    )


def test_a_rate_is_learnt_from_what_came_out_over_the_working_days() -> None:
    pickups = [
        Emptied(day=MONDAY + timedelta(days=14), volume_ml=50_000),
        Emptied(day=MONDAY, volume_ml=99_000),
        Emptied(day=MONDAY + timedelta(days=7), volume_ml=30_000),
    ]
    rate = learn_rate(pickups, ALL_YEAR)
    assert rate == FillRate(ml_per_running_day=Fraction(8000), basis=RateBasis.PICKUPS, pickups=3)


@pytest.mark.parametrize("pickups", [[], [Emptied(day=MONDAY, volume_ml=1)]])
def test_one_pickup_is_too_few_to_learn_from(pickups: list[Emptied]) -> None:
    assert learn_rate(pickups, ALL_YEAR) is None


def test_two_pickups_with_no_working_day_between_teach_nothing() -> None:
    saturday = date(2026, 11, 7)
    pickups = [Emptied(day=saturday, volume_ml=1), Emptied(day=saturday, volume_ml=1)]
    assert learn_rate(pickups, ALL_YEAR) is None


@given(
    percent=st.integers(0, 150),
    volume_ml=st.integers(1, 1_000_000),
    kind=st.sampled_from(["school", "cafe", "salon", "cleaner", "shop"]),
    days=st.integers(-5, 200),
    more=st.integers(0, 60),
)
def test_expected_fill_never_falls_with_time_and_never_exceeds_the_volume(
    percent: int, volume_ml: int, kind: str, days: int, more: int
) -> None:
    def fill_on(day: date) -> ExpectedFill:
        return expect_fill(
            volume_ml=volume_ml,
            level=KnownLevel(percent=percent, day=MONDAY, origin=LevelOrigin.REPORTED),
            rate=starting_rate(kind, volume_ml),
            calendar=ALL_YEAR,
            day=day,
            bulk_density=BOTTLES.bulk_density,
        )

    early = fill_on(MONDAY + timedelta(days=days))
    late = fill_on(MONDAY + timedelta(days=days + more))
    assert early.volume_ml <= late.volume_ml <= volume_ml
    assert early.percent <= late.percent <= 100
    assert early.mass is not None
    assert late.mass is not None
    assert early.mass.mass_g <= late.mass.mass_g
