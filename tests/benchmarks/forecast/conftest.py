"""Shows the tables of scores at the end of a run."""

import pytest

from tests.benchmarks.forecast.scores import HEADER
from tests.benchmarks.forecast.table import TABLES


def pytest_terminal_summary(
    terminalreporter: pytest.TerminalReporter, config: pytest.Config
) -> None:
    """Show each model's scores on each set of series."""
    for name, scores in config.stash.get(TABLES, {}).items():
        terminalreporter.section(f"forecasts: {name}")
        terminalreporter.write_line(HEADER)
        for score in scores:
            terminalreporter.write_line(score.text())
