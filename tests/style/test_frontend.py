"""The app's own checks, each as its tool judges it, with the Node that the project brings."""

import subprocess
from pathlib import Path

import pytest
from django.core.management import call_command

from api.server.app_build import build, is_up_to_date, node_environment, npm_command
from api.server.installation import FRONTEND

CHECKS = {
    "check": "the types that svelte-check and tsc name",
    "lint": "npm run format, then what eslint names",
    "test": "what vitest names",
    "size": "load later what the first screen does not need",
}


def npm_run(script: str) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        npm_command("run", script),
        cwd=FRONTEND,
        env=node_environment(),
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture(scope="module", autouse=True)
def built() -> None:
    """Its tools are installed with the build, which the size is measured of."""
    if not is_up_to_date(FRONTEND):
        build(FRONTEND)


@pytest.mark.parametrize("script", CHECKS)
def test_the_apps_check_finds_nothing(script: str) -> None:
    done = npm_run(script)
    assert done.returncode == 0, f"{done.stdout}\n{done.stderr}\nThe mend: {CHECKS[script]}"


def test_the_app_knows_the_api_as_it_is(tmp_path: Path) -> None:
    """The kept description is the API's, and the kept types are the description's."""
    now = tmp_path / "openapi.json"
    call_command("spectacular", "--format", "openapi-json", "--file", str(now))
    mend = "The mend: uv run millrace openapi --output frontend/openapi.json, then npm run types"
    assert (FRONTEND / "openapi.json").read_text() == now.read_text(), mend

    types = FRONTEND / "src" / "api" / "schema.d.ts"
    before = types.read_text()
    try:
        done = npm_run("types")
        assert done.returncode == 0, done.stdout + done.stderr
        assert types.read_text() == before, mend
    finally:
        types.write_text(before)
