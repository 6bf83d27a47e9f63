"""Published inventory-routing instances, solved as collections, beside the best that is known.

    uv run python -m tests.benchmarks.inventory --instances FOLDER --seconds 60

Seconds are of processor time on one core. Each plan is checked before its row is printed.
"""

import argparse
from pathlib import Path

import numpy as np

from tests.benchmarks.inventory.improving import improve
from tests.benchmarks.inventory.instances import read

# Upper bounds from the results of the 12th DIMACS Implementation Challenge (2022).
BEST_KNOWN = {
    "S_abs1n20_2_H6": 14238.11,
    "S_abs2n30_3_L6": 9236.74,
    "S_abs3n50_2_H3": 12482.26,
    "L_abs1n50_2_H": 28205.5,
    "L_abs5n50_4_H": 30278.34,
    "L_abs7n100_3_L": 15981.6,
}


def main() -> None:
    """Solve every known instance in the folder, and print a row for each."""
    parser = argparse.ArgumentParser(description="Solve published inventory-routing instances.")
    parser.add_argument("--instances", type=Path, required=True, help="folder of .dat files")
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    print(f"{'instance':18}{'best known':>12}{'found':>12}{'gap %':>8}{'way':>9}")  # noqa: T201
    gaps = []
    for path in sorted(options.instances.glob("*.dat")):
        if path.stem not in BEST_KNOWN:
            continue
        plan = improve(read(path), seconds=options.seconds, seed=options.seed)
        faults = plan.faults()
        if faults:
            raise SystemExit(f"{path.stem}: {'; '.join(faults)}")
        best = BEST_KNOWN[path.stem]
        gaps.append((plan.cost / best - 1) * 100)
        print(  # noqa: T201 - a command's output
            f"{path.stem:18}{best:12.2f}{plan.cost:12.2f}{gaps[-1]:8.2f}{plan.way_m:9}", flush=True
        )
    print(f"mean gap {np.mean(gaps):.2f} % over {len(gaps)}")  # noqa: T201


if __name__ == "__main__":
    main()
