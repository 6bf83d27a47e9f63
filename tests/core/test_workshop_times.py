"""How long work took on what went on into pieces."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.workshop.core.times import Making, Times, times_of, together


def test_a_part_of_a_wash_has_its_part_of_the_time() -> None:
    """By hand: an hour for 900 g that came out is 4 s a gram."""
    washed = Making(parts_g={"bag": 900}, kind="wash", in_g=1_000, out_g=900, duration_s=3_600)
    found = times_of(["washed"], {"washed": washed})["washed"]
    assert found == Times(s_per_g={"wash": 4.0})


def test_what_is_lost_later_was_worked_on_as_well() -> None:
    """By hand: sorting 1,000 g took 1,000 s; 500 g of them left the wash: 2 s for each."""
    makings = {
        "sorted": Making(
            parts_g={"bag": 1_000}, kind="sort", in_g=1_000, out_g=1_000, duration_s=1_000
        ),
        "washed": Making(
            parts_g={"sorted": 500}, kind="wash", in_g=1_000, out_g=500, duration_s=250
        ),
    }
    found = times_of(["washed"], makings)["washed"]
    assert found.s_per_g == {"sort": 2.0, "wash": 0.5}


def test_lots_put_together_and_divided_keep_their_times() -> None:
    """By hand: 300 g at 4 s and 100 g without any are 3 s a gram, also of a part of them."""
    makings: dict[str, Making[str]] = {
        "a": Making(parts_g={}, kind="wash", in_g=300, out_g=300, duration_s=1_200),
        "both": Making(parts_g={"a": 300, "b": 100}),
        "part": Making(parts_g={"both": 50}),
    }
    assert times_of(["part"], makings)["part"].s_per_g == {"wash": 3.0}


def test_a_run_that_was_not_timed_is_named() -> None:
    makings: dict[str, Making[str]] = {
        "a": Making(parts_g={}, kind="wash", in_g=10, out_g=10, duration_s=20),
        "b": Making(parts_g={}, kind="wash", in_g=10, out_g=10),
    }
    times = times_of(["a", "b"], makings)
    mix = together({"a": 5, "b": 5}, times, whole_g=10)
    assert mix == Times(s_per_g={"wash": 1.0}, untimed=frozenset({"wash"}))


def test_what_was_bought_took_no_washing() -> None:
    mix = together({"a": 95}, {"a": Times(s_per_g={"wash": 2.0})}, whole_g=100)
    assert mix.s_per_g["wash"] == pytest.approx(1.9)


@given(
    masses=st.lists(st.integers(1, 10_000), min_size=1, max_size=6),
    lost=st.integers(0, 5_000),
    duration_s=st.integers(1, 100_000),
)
def test_all_that_comes_out_has_all_of_the_time(
    masses: list[int], lost: int, duration_s: int
) -> None:
    out_g = sum(masses)
    makings: dict[int, Making[int]] = {
        lot: Making(parts_g={}, kind="sort", in_g=out_g + lost, out_g=out_g, duration_s=duration_s)
        for lot, _ in enumerate(masses)
    }
    times = times_of(makings, makings)
    whole_s = sum(mass_g * times[lot].s_per_g["sort"] for lot, mass_g in enumerate(masses))
    assert whole_s == pytest.approx(duration_s)


def test_more_cannot_come_out_than_went_in() -> None:
    with pytest.raises(ValueError, match="part of"):
        Making(parts_g={}, kind="wash", in_g=1, out_g=2)
