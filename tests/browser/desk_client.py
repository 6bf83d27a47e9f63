"""How tests ask the desk, the program that knows the server's database."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any


class Desk:
    """The program beside the server that books, makes ways in and reads the ledger."""

    def __init__(self, environment: dict[str, str], folder: Path) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.browser.desk"],
            cwd=folder,
            env=environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def ask(self, what: str, argument: object) -> Any:
        """Ask one question and wait for its answer."""
        assert self._process.stdin
        assert self._process.stdout
        self._process.stdin.write(json.dumps([what, argument]) + "\n")
        self._process.stdin.flush()
        return json.loads(self._process.stdout.readline())

    def close(self) -> None:
        """Send it home."""
        assert self._process.stdin
        self._process.stdin.close()
        self._process.wait(timeout=60)
        assert self._process.stdout
        self._process.stdout.close()
