"""The shape of the code: each failure says the mend."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
FUNCTION_LINES_MAX = 50
FILE_LINES_MAX = 400
LEFTOVERS = re.compile(
    r"\b(TODO|FIXME|XXX|HACK)\b|breakpoint\(\)|\bprint\(.*#\s*debug", re.IGNORECASE
)
MACHINE_PATHS = re.compile(r"(?<![\w.])/(home|root|work|Users)/[a-z]")


def _sources(*folders: str) -> list[Path]:
    return sorted(
        path
        for folder in folders
        for path in (ROOT / folder).rglob("*.py")
        if "migrations" not in path.parts and "node_modules" not in path.parts
    )


def _named(paths: list[Path]) -> list[str]:
    return [str(path.relative_to(ROOT)) for path in paths]


CODE = _named(_sources("network", "api"))
ALL = _named(_sources("network", "api", "tests"))


def _functions(tree: ast.AST) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


@pytest.mark.parametrize("name", ALL)
def test_functions_fit_a_screen(name: str) -> None:
    tree = ast.parse((ROOT / name).read_text())
    long = [
        f"{name}:{node.lineno} {node.name} has {node.end_lineno - node.lineno + 1} lines"
        for node in _functions(tree)
        if node.end_lineno and node.end_lineno - node.lineno + 1 > FUNCTION_LINES_MAX
    ]
    assert not long, f"Split what has more than {FUNCTION_LINES_MAX} lines: {long}"


@pytest.mark.parametrize("name", ALL)
def test_files_stay_short(name: str) -> None:
    lines = len((ROOT / name).read_text().splitlines())
    assert lines <= FILE_LINES_MAX, (
        f"{name} has {lines} lines: split it by what the trade calls its parts"
    )


@pytest.mark.parametrize("name", ALL)
def test_nothing_is_left_over(name: str) -> None:
    if name.endswith("test_shape.py"):
        return
    text = (ROOT / name).read_text()
    found = [match.group() for match in LEFTOVERS.finditer(text)]
    assert not found, f"{name} holds {found}: do it now or file it"
    paths = [match.group() for match in MACHINE_PATHS.finditer(text)]
    assert not paths, f"{name} holds a path of one machine: {paths}"


def test_every_public_name_is_used() -> None:
    """A public function or class of a room that nothing but tests mentions is dead."""
    texts = {name: (ROOT / name).read_text() for name in CODE}
    words = {name: re.findall(r"\w+", text) for name, text in texts.items()}
    counts: dict[str, int] = {}
    for found in words.values():
        for word in found:
            counts[word] = counts.get(word, 0) + 1
    dead = []
    for name, text in texts.items():
        for node in ast.parse(text).body:
            if not isinstance(node, ast.FunctionDef | ast.ClassDef):
                continue
            if not node.name.startswith("_") and counts[node.name] == 1 and not _registered(node):
                dead.append(f"{name}:{node.lineno} {node.name}")
    assert not dead, f"Nothing uses these; use them or delete them: {dead}"


def _registered(node: ast.FunctionDef | ast.ClassDef) -> bool:
    """Whether a framework finds it by its base class or decorator."""
    if isinstance(node, ast.ClassDef):
        bases = {getattr(base, "attr", getattr(base, "id", "")) for base in node.bases}
        return bool(bases & {"AppConfig", "BaseCommand", "Migration", "TextChoices"})
    return bool(node.decorator_list)


@pytest.mark.parametrize("name", [n for n in CODE if "/core/" in n or n.endswith("services.py")])
def test_public_functions_say_what_they_do(name: str) -> None:
    tree = ast.parse((ROOT / name).read_text())
    silent = [
        f"{name}:{node.lineno} {node.name}"
        for node in tree.body
        if isinstance(node, ast.FunctionDef | ast.ClassDef)
        and not node.name.startswith("_")
        and not ast.get_docstring(node)
    ]
    assert not silent, f"Write one sentence, then units, errors and source: {silent}"


@pytest.mark.parametrize("name", [n for n in CODE if re.search(r"/core/.*\.py$", n)])
def test_dataclasses_of_a_core_are_frozen_and_keyword_only(name: str) -> None:
    loose = []
    for node in ast.walk(ast.parse((ROOT / name).read_text())):
        if not isinstance(node, ast.ClassDef):
            continue
        for decorator in node.decorator_list:
            text = ast.unparse(decorator)
            if "dataclass" in text and not ("frozen=True" in text and "kw_only=True" in text):
                loose.append(f"{name}:{node.lineno} {node.name}")
    assert not loose, f"Make these frozen=True, kw_only=True: {loose}"


@pytest.mark.parametrize("name", [n for n in CODE if n.endswith("services.py")])
def test_services_take_keywords_only(name: str) -> None:
    loose = [
        f"{name}:{node.lineno} {node.name}"
        for node in ast.parse((ROOT / name).read_text()).body
        if isinstance(node, ast.FunctionDef)
        and not node.name.startswith("_")
        and len(node.args.args) > 1
    ]
    assert not loose, f"Only the actor may be given by position; put a * after it: {loose}"
