"""Ways to decide who is visited, held against each other on invented communities.

    uv run --group benchmarks python -m tests.benchmarks.planning --results FOLDER --seeds 10

Every outcome is added to a file in the folder; run again, it goes on where it was stopped. The
full comparison is --places 100, 200 and 400 with ten seeds each, which takes hours.
"""

import argparse
from pathlib import Path

from network.simulation.compare import Community
from tests.benchmarks.planning.sweeps import TUNING_SEEDS_BELOW, outcomes, run
from tests.benchmarks.planning.tables import tables


def main() -> None:
    """Run what is missing, and print the tables."""
    parser = argparse.ArgumentParser(description="Compare policies on invented communities.")
    parser.add_argument("--results", type=Path, required=True, help="folder of the results")
    parser.add_argument("--places", type=int, default=100)
    parser.add_argument("--vans", type=int, help="one for each hundred places, if not given")
    parser.add_argument("--days", type=int, default=60)
    parser.add_argument("--warm-up", type=int, default=21)
    parser.add_argument("--seeds", type=int, default=10)
    parser.add_argument("--first-seed", type=int, default=TUNING_SEEDS_BELOW + 1)
    parser.add_argument("--iterations", type=int, default=400)
    parser.add_argument("--show-only", action="store_true", help="print what is there")
    options = parser.parse_args()
    community = Community(
        places=options.places,
        vans=options.vans or max(1, options.places // 100),
        days=options.days,
        warm_up_days=options.warm_up,
        iterations=options.iterations,
    )
    seeds = range(options.first_seed, options.first_seed + options.seeds)
    options.results.mkdir(parents=True, exist_ok=True)
    file = options.results / "planning.jsonl"
    if not options.show_only:
        run(community, seeds, file)
    for line in tables(outcomes(community, seeds, file)):
        print(line)  # noqa: T201 - a command's output


if __name__ == "__main__":
    main()
