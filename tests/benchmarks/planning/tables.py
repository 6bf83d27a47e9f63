"""Policies compared at equal overflow, paired by seed."""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from network.simulation.compare import FIGURES, estimate
from network.simulation.core.replay import Outcome

FULL_SHARES = (0.02, 0.03, 0.045)
OURS = ("plan", "plan-sensor")


def at_equal_overflow(swept: Sequence[Outcome], figure: str, full_share: float) -> float | None:
    """A figure where the share of full place-days is that one, on a line between two outcomes.

    None where the sweep does not reach it: nothing is extrapolated.
    """
    points = sorted((one.full_share, float(getattr(one, figure))) for one in swept)
    shares = [share for share, _ in points]
    if not shares or not shares[0] <= full_share <= shares[-1]:
        return None
    return float(np.interp(full_share, shares, [value for _, value in points]))


def tables(found: Mapping[int, Mapping[str, Sequence[Outcome]]]) -> Iterator[str]:
    """Lines to print: each policy's figures, then each of ours against every other."""
    policies = sorted({name for by_policy in found.values() for name in by_policy})
    for full_share in FULL_SHARES:
        yield ""
        yield f"at {full_share * 100:g} % of place-days full"
        yield f"{'policy':22}{'seeds':>6}" + "".join(f"{name:>20}" for name in FIGURES.values())
        for policy in policies:
            yield f"{policy:22}" + _row(found, policy, full_share)
        for ours in OURS:
            for other in policies:
                if other not in OURS:
                    yield _against(found, ours, other, full_share)


def _values(
    found: Mapping[int, Mapping[str, Sequence[Outcome]]],
    policy: str,
    figure: str,
    full_share: float,
) -> dict[int, float]:
    reached = {
        seed: at_equal_overflow(by_policy.get(policy, ()), figure, full_share)
        for seed, by_policy in found.items()
    }
    return {seed: value for seed, value in reached.items() if value is not None}


def _row(
    found: Mapping[int, Mapping[str, Sequence[Outcome]]], policy: str, full_share: float
) -> str:
    cells = []
    count = 0
    for figure in FIGURES:
        values = list(_values(found, policy, figure, full_share).values())
        count = len(values)
        factor = 100 if figure.endswith("_share") else 1
        cells.append(_shown([value * factor for value in values]))
    return f"{count:6}" + "".join(f"{cell:>20}" for cell in cells)


def _against(
    found: Mapping[int, Mapping[str, Sequence[Outcome]]], ours: str, other: str, full_share: float
) -> str:
    parts = []
    for figure in ("money_per_t", "km_per_t", "hours_per_t"):
        own, others = (_values(found, name, figure, full_share) for name in (ours, other))
        gains = [(own[seed] / others[seed] - 1) * 100 for seed in sorted(own.keys() & others)]
        parts.append(f"{FIGURES[figure]} {_shown(gains)} % ({len(gains)} seeds)")
    return f"{ours} against {other}: " + "; ".join(parts)


def _shown(values: Sequence[float]) -> str:
    if not values:
        return "-"
    found = estimate(values)
    off = "" if found.half_width is None else f" ± {found.half_width:.1f}"
    return f"{found.mean:.1f}{off}"
