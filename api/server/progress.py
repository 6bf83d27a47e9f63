"""Say what is being done and how long it took, in plain lines that also read well in a log."""

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager


def say(line: str = "") -> None:
    """Print one line at once, also when the output is a file or a pipe."""
    print(line, flush=True)


def say_detail(line: str) -> None:
    """Print one line that belongs to the step above it."""
    say(f"    {line}")


@contextmanager
def step(what: str) -> Iterator[None]:
    """Name a step when it begins, and give its duration when it has ended well."""
    say(f"{what} ...")
    began_s = time.monotonic()
    yield
    say(f"    done in {time.monotonic() - began_s:.1f} s")


def give_up(reason: str) -> SystemExit:
    """Make the exit that tells a person plainly why the command cannot go on."""
    sys.stdout.flush()
    return SystemExit(f"millrace: {reason}")
