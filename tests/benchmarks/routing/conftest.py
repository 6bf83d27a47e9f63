"""Takes the folder of instances, and shows the table of gaps at the end of a run."""

from pathlib import Path

import pytest

from tests.benchmarks.routing.table import ROWS, Row

HEADER = f"{'instance':42} {'best known':>11} {'ours':>11} {'gap %':>7} {'cpu s':>6} {'own %':>6}"


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """One case for each instance in the folder; one that is skipped where no folder is given."""
    if "instance_path" not in metafunc.fixturenames:
        return
    folder = metafunc.config.getoption("--routing-instances")
    if folder is None:
        reason = "give a folder of VRPLIB or Solomon files with --routing-instances"
        metafunc.parametrize("instance_path", [pytest.param(None, marks=pytest.mark.skip(reason))])
        return
    paths = sorted(path for path in Path(folder).iterdir() if path.suffix in {".vrp", ".txt"})
    metafunc.parametrize("instance_path", paths, ids=[path.stem for path in paths])


@pytest.fixture
def table(request: pytest.FixtureRequest) -> list[Row]:
    """The rows shown at the end."""
    return request.config.stash.setdefault(ROWS, [])


def pytest_terminal_summary(
    terminalreporter: pytest.TerminalReporter, config: pytest.Config
) -> None:
    """Show each instance's gap, and the share of the time that was not PyVRP's search."""
    rows = config.stash.get(ROWS, [])
    if not rows:
        return
    terminalreporter.section("routing instances")
    terminalreporter.write_line(HEADER)
    for row in rows:
        terminalreporter.write_line(row.text())
    mean = sum(row.gap for row in rows) / len(rows)
    terminalreporter.write_line(f"mean gap {mean * 100:.2f} % over {len(rows)} instances")
