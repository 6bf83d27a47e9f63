"""Where the tables of a run are kept until its end."""

import pytest

from tests.benchmarks.forecast.scores import Score

TABLES = pytest.StashKey[dict[str, list[Score]]]()
