"""Lint, types, layers and migrations, each as its own tool judges it."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
BIN = Path(sys.executable).parent

TOOLS = {
    "ruff check": (["ruff", "check", "."], "uv run ruff check --fix ."),
    "ruff format": (["ruff", "format", "--check", "."], "uv run ruff format ."),
    "mypy": (["mypy"], "uv run mypy"),
    "layers": (["lint-imports"], "uv run lint-imports, and move the import to where it may be"),
}


@pytest.mark.parametrize("tool", TOOLS)
def test_the_tool_finds_nothing(tool: str) -> None:
    (name, *arguments), mend = TOOLS[tool]
    # Settings are read but nothing is connected to.
    environment = {
        **os.environ,
        "MILLRACE_SECRET_KEY": "for-checks-only",
        "DATABASE_URL": "postgresql:///unused",
    }
    done = subprocess.run(
        [BIN / name, *arguments],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, f"{done.stdout}\n{done.stderr}\nThe mend: {mend}"


@pytest.mark.django_db
def test_no_migration_is_missing() -> None:
    from django.core.management import call_command

    try:
        call_command("makemigrations", "--check", "--dry-run", verbosity=1)
    except SystemExit:
        pytest.fail("The models have moved on: run `uv run millrace manage makemigrations`.")
