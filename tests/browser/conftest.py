"""A real server with a small community, and Chromium at the size of a phone."""

import contextlib
import json
import os
import re
import secrets
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import psycopg
import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, expect, sync_playwright
from psycopg.conninfo import conninfo_to_dict, make_conninfo

from api.server.app_build import build, is_up_to_date
from api.server.installation import FRONTEND
from tests.browser.desk_client import Desk
from tests.browser.driving import Booked, Phone
from tests.browser.people import PHONE, People

ROOT = Path(__file__).resolve().parents[2]
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Skip the browser's tests where there is no Chromium, except in CI, which must have it."""
    if CHROMIUM or os.environ.get("CI"):
        return
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.skip(reason="Chromium is not installed"))


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    """What starts browsers."""
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="session")
def launch() -> dict[str, Any]:
    """How Chromium is started: kept from looking up its maker's hosts."""
    quiet = ["--disable-background-networking", "--disable-component-update", "--disable-sync"]
    # A container's root cannot use Chromium's sandbox.
    return {
        "executable_path": CHROMIUM,
        "args": [*quiet, "--disable-gpu", "--no-sandbox"],
    }


@pytest.fixture(scope="session")
def browser(playwright: Playwright, launch: dict[str, Any]) -> Iterator[Browser]:
    """Chromium, in which each person has a phone of their own."""
    started = playwright.chromium.launch(**launch)
    yield started
    started.close()


@pytest.fixture
def people(browser: Browser, server: str, tmp_path: Path) -> Iterator[People]:
    """Everyone in the story; each last screen is kept as a picture, to be looked at."""
    everyone = People(browser, server)
    yield everyone
    for number, page in enumerate(everyone.pages, start=1):
        page.screenshot(path=tmp_path / f"person-{number}.png", full_page=True)
        page.context.close()


@pytest.fixture(scope="session")
def built_app() -> None:
    """The app as it is served, built unless its sources have not changed."""
    if not is_up_to_date(FRONTEND):
        build(FRONTEND)


@contextmanager
def _database(address: str, *, like: str = "template1") -> Iterator[dict[str, str]]:
    """A database and a data folder of their own, as the environment of the programs that use them.

    Both are gone afterwards.
    """
    name = f"story_{secrets.token_hex(4)}"
    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}" TEMPLATE "{like}"')
    with tempfile.TemporaryDirectory(prefix="millrace-tests-") as data:
        yield {
            **os.environ,
            "DATABASE_URL": make_conninfo(address, dbname=name),
            "DJANGO_SETTINGS_MODULE": "api.settings",
            "MILLRACE_DATA": data,
            "MILLRACE_SECRET_KEY": secrets.token_urlsafe(50),
        }
    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


@pytest.fixture(scope="session")
def blank(database_url: str) -> Iterator[str]:
    """The name of a database with all its tables, made once, of which each test has a copy."""
    with _database(database_url) as environment:
        run_program(["-m", "api.server", "migrate"], environment)
        yield str(conninfo_to_dict(environment["DATABASE_URL"])["dbname"])


@pytest.fixture
def environment(database_url: str, blank: str) -> Iterator[dict[str, str]]:
    """What a server of its own database needs."""
    with _database(database_url, like=blank) as environment:
        yield environment


def run_program(arguments: list[str], environment: dict[str, str]) -> str:
    """Run one of the programs that set the scene; return what it prints."""
    done = subprocess.run(
        [sys.executable, *arguments],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture
def world() -> str:
    """The program that founds the community; a test may have another."""
    return "tests.browser.world"


@pytest.fixture
def links(environment: dict[str, str], world: str) -> dict[str, str]:
    """The paths by which the people of Tern Rock sign in, once each."""
    said = run_program(["-m", world], environment)
    tokens = json.loads(said.splitlines()[-1])
    return {who: f"/#/sign-in/{token}" for who, token in tokens.items()}


@pytest.fixture
def addresses(environment: dict[str, str], links: dict[str, str], world: str) -> dict[str, str]:
    """What fills the names in the screens' addresses; there once the world is, if it tells them."""
    assert links
    said = run_program(["-m", world, "addresses"], environment)
    filled: dict[str, str] = json.loads(said.splitlines()[-1])
    return filled


@pytest.fixture
def phone_of(browser: Browser, server: str, links: dict[str, str]) -> Iterator[Callable[..., Page]]:
    """Open the app as somebody who has a way in, or else as a stranger, on a phone of their own."""
    opened: list[BrowserContext] = []

    def open_as(person: str, *, script: Path | None = None, **settings: Any) -> Page:
        context = browser.new_context(
            base_url=server, viewport=PHONE, locale="en-GB", reduced_motion="reduce", **settings
        )
        opened.append(context)
        if script is not None:
            context.add_init_script(path=script)
        page = context.new_page()
        page.goto(links.get(person, "/"))
        page.wait_for_url(lambda url: "/sign-in/" not in url)
        return page

    yield open_as
    for context in opened:
        context.close()


@pytest.fixture
def server(
    built_app: None, environment: dict[str, str], links: dict[str, str], tmp_path: Path
) -> Iterator[str]:
    """The address of a real server with its worker, on a database of its own."""
    with serving(environment, told=tmp_path / "server.txt") as address:
        yield address


@pytest.fixture(scope="module")
def lasting_environment(database_url: str, blank: str) -> Iterator[dict[str, str]]:
    """What a server needs that outlives one test."""
    with _database(database_url, like=blank) as environment:
        yield environment


@pytest.fixture(scope="module")
def lasting_server(
    built_app: None, lasting_environment: dict[str, str], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[str]:
    """The address of a real server for all the tests of a file."""
    told = tmp_path_factory.mktemp("server") / "server.txt"
    with serving(lasting_environment, told=told) as address:
        yield address


@contextmanager
def serving(environment: dict[str, str], *, told: Path) -> Iterator[str]:
    """Run a server with its worker; what it says is kept in a file."""
    with (
        told.open("w") as output,
        subprocess.Popen(
            # One process is there sooner; that several answer alike is not the browser's business.
            [sys.executable, "-u", "-m", "api.server", "serve", "--port=0", "--processes=1"],
            cwd=ROOT,
            env=environment,
            stdout=output,
            stderr=subprocess.STDOUT,
        ) as process,
    ):
        try:
            yield _address(process, told)
        finally:
            process.terminate()
            process.wait(timeout=60)


def _address(process: "subprocess.Popen[bytes]", told: Path) -> str:
    while process.poll() is None:
        ready = re.search(r"ready: (http://\S+)", told.read_text())
        if ready:
            return ready.group(1)
        try:
            process.wait(timeout=0.2)
        except subprocess.TimeoutExpired:
            continue
    raise AssertionError(told.read_text())


@pytest.fixture
def desk(server: str, environment: dict[str, str]) -> Iterator[Desk]:
    """The program that books, makes ways in and reads the ledger beside the server."""
    with contextlib.closing(Desk(environment, ROOT)) as desk:
        yield desk


@pytest.fixture
def booked(desk: Desk) -> Booked:
    """A route of three stops."""
    return Booked(**desk.ask("book", 3))


@pytest.fixture
def sign_in(desk: Desk) -> Callable[[str], str]:
    """Make a token that signs somebody in, once."""
    return lambda email: str(desk.ask("token", email))


@pytest.fixture
def driver(people: People, booked: Booked, sign_in: Callable[[str], str]) -> Phone:
    """A driver who has looked at the route while there was a signal."""
    phone = Phone(people, sign_in, booked.driver)
    phone.take_along(booked.route)
    expect(phone.page.get_by_role("button", name="Start the route")).to_be_visible()
    expect(phone.count()).to_have_text("Everything has arrived.")
    return phone


@pytest.fixture
def ledger(desk: Desk, booked: Booked) -> Callable[[], list[int]]:
    """Read what the ledger says was collected on the route's community, in g, each once."""
    return lambda: list(desk.ask("told", booked.route)["collected_g"])
