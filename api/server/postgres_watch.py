"""Run PostgreSQL for as long as the process that asked for it lives, and not longer.

This file is started as a program of its own. Its standard input is a pipe that the asking
process holds open; the operating system closes that pipe however that process ends, SIGKILL
included, so the end of the pipe is the one signal to stop that cannot be missed, on any system.
It uses the standard library only, so that it starts in a few milliseconds.
"""

import contextlib
import json
import shutil
import subprocess
import sys
import threading
from typing import TypedDict


class PopenAccount(TypedDict, total=False):
    """The arguments of `subprocess` that name another account; none of them for our own."""

    user: int
    group: int
    extra_groups: list[int]


class Task(TypedDict):
    """What to run, how to stop it, as which account, and what to clear away afterwards."""

    start: list[str]
    stop: list[str]
    account: PopenAccount
    environment: dict[str, str]
    clear_folders: list[str]


def _stop_when_the_asker_is_gone(task: Task, server: "subprocess.Popen[bytes]") -> None:
    sys.stdin.buffer.read()
    stopped = subprocess.run(
        task["stop"],
        env=task["environment"],
        stdin=subprocess.DEVNULL,
        check=False,
        **task["account"],
    )
    if stopped.returncode != 0:
        server.kill()


def main() -> int:
    """Run the task given as JSON in the first argument; return the server's exit code."""
    task: Task = json.loads(sys.argv[1])
    server = subprocess.Popen(
        task["start"],
        env=task["environment"],
        stdin=subprocess.DEVNULL,
        **task["account"],
    )
    threading.Thread(target=_stop_when_the_asker_is_gone, args=(task, server), daemon=True).start()
    code = int(server.wait())
    for folder in task["clear_folders"]:
        with contextlib.suppress(OSError):
            shutil.rmtree(folder)
    return code


if __name__ == "__main__":
    sys.exit(main())
