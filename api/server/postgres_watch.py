"""Run PostgreSQL for as long as the process that asked for it lives, and not longer.

This file is started as a program of its own. Its standard input is a pipe that the asking
process holds open; the operating system closes that pipe however that process ends, SIGKILL
included, so the end of the pipe is the one signal to stop that cannot be missed, on any system.
It uses the standard library only, so that it starts in a few milliseconds.
"""

import contextlib
import json
import os
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


class Stopper(threading.Thread):
    """Wait for the end of standard input, then shut the server down in order."""

    def __init__(self, task: Task, server: "subprocess.Popen[bytes]") -> None:
        super().__init__(daemon=True)
        self.task = task
        self.server = server
        self.began = threading.Event()

    def run(self) -> None:
        """Block until the asker is gone; kill the server only if it cannot be asked to stop."""
        # Not through sys.stdin, whose lock a waiting thread would hold when Python exits.
        os.read(0, 1)
        self.began.set()
        stopped = subprocess.run(
            self.task["stop"],
            env=self.task["environment"],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            check=False,
            **self.task["account"],
        )
        if stopped.returncode != 0:
            self.server.kill()


def main() -> int:
    """Run the task given as JSON in the first argument; return the server's exit code."""
    task: Task = json.loads(sys.argv[1])
    server = subprocess.Popen(
        task["start"], env=task["environment"], stdin=subprocess.DEVNULL, **task["account"]
    )
    stopper = Stopper(task, server)
    stopper.start()
    code = server.wait()
    if stopper.began.is_set():
        stopper.join()
    for folder in task["clear_folders"]:
        with contextlib.suppress(OSError):
            shutil.rmtree(folder)
    return code


if __name__ == "__main__":
    sys.exit(main())
