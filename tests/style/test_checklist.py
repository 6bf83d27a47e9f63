"""What the security checklist says is shown, is there to be run."""

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
CHECKLIST = (ROOT / "docs" / "security" / "asvs.md").read_text()
TESTS = "\n".join(path.read_text() for path in (ROOT / "tests").rglob("test_*.py"))


def quoted(pattern: str) -> set[str]:
    return set(re.findall(rf"`({pattern})`", CHECKLIST))


def test_each_test_that_the_checklist_names_exists() -> None:
    names = {name for name in quoted(r"(?:test_|Test)\w+") if not name.endswith(".py")}
    assert names
    missing = {name for name in names if not re.search(rf"(?:def|class) {name}\b", TESTS)}
    assert not missing - {path.stem for path in (ROOT / "tests").rglob("test_*.py")}


def test_each_file_that_the_checklist_names_exists() -> None:
    files = quoted(r"[\w/]+\.py") | quoted(r"(?:network|api)/[\w/]+")
    assert files
    missing = [
        name
        for name in sorted(files)
        if not (ROOT / name).exists() and not list((ROOT / "tests").rglob(name))
    ]
    assert not missing
