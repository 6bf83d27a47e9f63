"""No dependency has a weakness that is known; where nobody can be asked, it says so and is skipped.

A skip is no pass: run it where the databases can be reached, as docs/security/asvs.md says.
"""

import json
import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
ANSWER_S_MAX = 90
EXPORT = ["export", "--frozen", "--no-emit-project", "--format", "requirements-txt", "--quiet"]


def program(name: str) -> str:
    found = shutil.which(name)
    if found is None:
        pytest.skip(f"not checked: there is no {name} here")
    return found


def run(*command: str, at: Path = ROOT) -> "subprocess.CompletedProcess[str]":
    try:
        return subprocess.run(
            command, cwd=at, capture_output=True, text=True, timeout=ANSWER_S_MAX, check=False
        )
    except subprocess.TimeoutExpired:
        pytest.skip(f"not checked: no answer within {ANSWER_S_MAX} s")


def test_no_python_package_has_a_known_weakness(tmp_path: Path) -> None:
    uv = program("uv")
    wanted = tmp_path / "requirements.txt"
    exported = run(uv, *EXPORT, "--output-file", str(wanted))
    assert exported.returncode == 0, exported.stderr
    asked = run(
        *(uv, "tool", "run", "pip-audit", "--format", "json", "--requirement", str(wanted)),
        *("--require-hashes", "--disable-pip", "--progress-spinner", "off"),
    )
    try:
        packages = json.loads(asked.stdout)["dependencies"]
    except (ValueError, KeyError):
        last = asked.stderr.strip().splitlines()[-1:]
        pytest.skip(f"not checked: the database of weaknesses gave no answer: {last}")
    assert packages
    assert not [package for package in packages if package.get("vulns")]
    # It calls the whole well where it could ask of none: that is no answer.
    unasked = [package["name"] for package in packages if "skip_reason" in package]
    if unasked:
        pytest.skip(f"not checked: {len(unasked)} of {len(packages)} packages are not known there")


def test_no_package_of_the_app_has_a_known_weakness() -> None:
    asked = run(program("npm"), "audit", "--omit=dev", "--json", at=ROOT / "frontend")
    answer = json.loads(asked.stdout or "{}")
    if "vulnerabilities" not in answer:
        pytest.skip(f"not checked: the registry gave no answer: {answer.get('message', '')}")
    assert not answer["vulnerabilities"]
