"""The command that holds policies against each other on invented communities."""

import argparse
from typing import TYPE_CHECKING

from api.server.progress import give_up, say
from network.errors import MillraceError

if TYPE_CHECKING:  # the planner takes a while to load, and no other command needs it
    from network.simulation.compare import Community, Estimate

_USUAL = ("fixed", "threshold", "predictive", "threshold-forecast", "predictive-forecast", "plan")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Name what is simulated."""
    parser.add_argument("--places", type=int, default=60, help="how many (%(default)s)")
    parser.add_argument("--vans", type=int, default=1, help="how many (%(default)s)")
    parser.add_argument("--days", type=int, default=30, help="days measured (%(default)s)")
    parser.add_argument("--warm-up", type=int, default=21, help="days before (%(default)s)")
    parser.add_argument("--seeds", type=int, default=2, help="how many (%(default)s)")
    parser.add_argument("--first-seed", type=int, default=1, help="the first (%(default)s)")
    parser.add_argument(
        "--iterations", type=int, default=100, help="of each day's search (%(default)s)"
    )
    parser.add_argument(
        "--policy",
        action="append",
        metavar="NAME[=NUMBER]",
        help=f"may be given several times (the usual: {', '.join(_USUAL)})",
    )


def simulate(options: argparse.Namespace) -> None:
    """Print a row for each policy: means over seeds, with 95 % intervals."""
    from network.simulation.compare import Community, policy_of

    policies = options.policy or list(_USUAL)
    try:
        for policy in policies:
            policy_of(policy)
        community = Community(
            places=options.places,
            vans=options.vans,
            days=options.days,
            warm_up_days=options.warm_up,
            iterations=options.iterations,
        )
        if options.seeds < 1:
            raise give_up("There is one seed at least.")
        seeds = range(options.first_seed, options.first_seed + options.seeds)
        _print_table(community, policies, seeds)
    except MillraceError as error:
        raise give_up(str(error)) from None


def _print_table(community: "Community", policies: list[str], seeds: range) -> None:
    from network.simulation.compare import FIGURES, compare

    say(
        f"{community.places} invented places, {community.vans} vans, {community.days} days after "
        f"{community.warm_up_days}, {len(seeds)} seeds. Places and prices are made up: read the "
        "rows against each other."
    )
    say(f"{'policy':26}" + "".join(f"{heading:>18}" for heading in FIGURES.values()))
    for policy, figures in compare(community, policies, seeds=seeds):
        cells = (_cell(name, figures[name]) for name in FIGURES)
        say(f"{policy:26}" + "".join(f"{cell:>18}" for cell in cells))


def _cell(name: str, figure: "Estimate") -> str:
    is_share = name.endswith("_share")
    factor, sign = (100, " %") if is_share else (1, "")
    shown = f"{figure.mean * factor:.1f}"
    if figure.half_width is not None:
        shown += f" ± {figure.half_width * factor:.1f}"
    return shown + sign
