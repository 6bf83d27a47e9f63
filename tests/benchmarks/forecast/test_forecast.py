"""The forecast held against plainer ones, on an invented community and on real daily counts.

    uv run pytest tests/benchmarks/forecast --forecast-places 150 --forecast-days 160

The small run is part of the suite, and all seeds are fixed. Tables are shown at the end.
"""

import pytest

from tests.benchmarks.forecast.scores import Score, back_test
from tests.benchmarks.forecast.series import late_departures, simulated
from tests.benchmarks.forecast.table import TABLES

AHEAD = (2, 6)
PLAIN = ("last value", "moving average", "exponential smoothing")


def _shown(request: pytest.FixtureRequest, name: str, scores: list[Score]) -> dict[str, Score]:
    request.config.stash.setdefault(TABLES, {})[name] = scores
    return {score.model: score for score in scores}


def test_on_an_invented_community_it_is_calibrated_and_better_than_every_other(
    request: pytest.FixtureRequest,
) -> None:
    places = request.config.getoption("--forecast-places")
    days = request.config.getoption("--forecast-days")
    worlds = [simulated(places=places, days=days, seed=seed) for seed in (21, 22)]
    origins = range(40, days - 10, 20)
    scores = _shown(
        request, "invented communities", back_test(worlds, origins=origins, ahead=AHEAD)
    )
    ours = scores.pop("millrace")
    # Wide enough for the chance of a small run; the full one is told in docs/rules/forecast.md.
    assert 0.85 <= ours.holds_90 <= 0.95
    for other in scores.values():
        assert ours.crps < 0.9 * other.crps, other.model


def test_on_real_daily_counts_it_is_calibrated_and_no_worse_than_plain_rules(
    request: pytest.FixtureRequest,
) -> None:
    """A moving average is hard to beat there: one kind, no reports, long memory."""
    scores = _shown(
        request,
        "late departures, New York 2013",
        back_test([late_departures(seed=1)], origins=range(60, 340, 70), ahead=AHEAD),
    )
    ours = scores["millrace"]
    assert 0.85 <= ours.holds_90 <= 0.97
    assert ours.crps < scores["last value"].crps
    for name in PLAIN:
        assert ours.crps < 1.05 * scores[name].crps, name
