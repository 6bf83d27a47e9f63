"""Bringing a community's roads from the command line, so that its ways go along them."""

import argparse
import json
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from api.server.progress import give_up, say
from network.errors import MillraceError

if TYPE_CHECKING:  # models need the settings, which the command finds first
    from network.pickups.services import RoadsBrought

NAMED_MAX = 20


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Name the file, whose roads they are, and who drew them."""
    parser.add_argument("file", type=Path, metavar="FILE.geojson", help="lines with a `highway`")
    parser.add_argument("--community", required=True, help="its part of an address")
    parser.add_argument(
        "--source", required=True, help="who drew them, under which licence; shown with each plan"
    )
    parser.add_argument(
        "--as-of", type=date.fromisoformat, help="when they were as drawn, as 2026-03-12 (today)"
    )


def bring(options: argparse.Namespace) -> None:
    """Bring the roads, and say how many places they come to."""
    try:
        brought = _brought(options, _read(options.file))
    except MillraceError as refusal:
        told = [f"{fault.field}: {fault.detail} {fault.mend}" for fault in refusal.fields]
        raise give_up("; ".join(told) or refusal.detail) from None
    say(f"{brought.length_m / 1000:,.1f} km of road are read; ways go along them from now on.")
    if brought.left_out_m:
        say(
            f"{brought.left_out_m / 1000:,.1f} km are left out: "
            "one cannot drive there from the rest and back."
        )
    if not brought.off_roads:
        say(f"All {brought.places} places are within reach.")
        return
    say(f"{len(brought.off_roads)} of {brought.places} places are off the roads, so none comes:")
    for name in brought.off_roads[:NAMED_MAX]:
        say(f"    {name}")
    if len(brought.off_roads) > NAMED_MAX:
        say(f"    and {len(brought.off_roads) - NAMED_MAX} more")


def _read(file: Path) -> Any:
    try:
        return json.loads(file.read_text(encoding="utf-8"), parse_constant=_no_figure)
    except OSError as error:
        raise give_up(f"{file} cannot be read: {error.strerror}.") from None
    except ValueError:
        raise give_up(f"{file} is no GeoJSON: it is not JSON in UTF-8.") from None


def _no_figure(word: str) -> None:
    # Python would take NaN for a number; JSON and the database do not.
    raise ValueError(word)


def _brought(options: argparse.Namespace, features: Any) -> "RoadsBrought":
    from network.people.queries import community_by_slug
    from network.pickups.services import bring_roads

    return bring_roads(
        community=community_by_slug(options.community),
        features=features,
        source=options.source,
        as_of=options.as_of or datetime.now(tz=UTC).date(),
    )
