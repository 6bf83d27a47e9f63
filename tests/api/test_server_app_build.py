"""The app is built from its sources with the packaged Node, and served as browsers need it."""

import gzip
import json
from pathlib import Path

import brotli
import pytest
from django.test import Client
from pytest_django import Settings

from api.server import app_build

PACKAGE = {"name": "tiny", "version": "1.0.0", "scripts": {"build": "node build.mjs"}}
LOCK = {"name": "tiny", "version": "1.0.0", "lockfileVersion": 3, "packages": {"": PACKAGE}}
BUILD = """
import { mkdirSync, writeFileSync } from "node:fs";
mkdirSync("dist/assets", { recursive: true });
writeFileSync("dist/index.html", "<!doctype html><title>A tiny app</title>");
writeFileSync("dist/sw.js", "// the service worker");
writeFileSync("dist/assets/index-BxK2_a9Z.js", "console.log('tiny');".repeat(100));
"""


# The end of an answer looks after the connection to the database, where there is one.
pytestmark = pytest.mark.django_db


@pytest.fixture
def frontend(tmp_path: Path) -> Path:
    """The sources of an app without dependencies, so that its build needs no network."""
    (tmp_path / "package.json").write_text(json.dumps(PACKAGE))
    (tmp_path / "package-lock.json").write_text(json.dumps(LOCK))
    (tmp_path / "build.mjs").write_text(BUILD)
    return tmp_path


def test_an_app_is_built_once_until_its_sources_change(frontend: Path) -> None:
    assert not app_build.is_up_to_date(frontend)
    app_build.build(frontend)
    assert (frontend / "dist" / "index.html").is_file()
    assert app_build.is_up_to_date(frontend)
    (frontend / "build.mjs").write_text(BUILD + "// a change\n")
    assert not app_build.is_up_to_date(frontend)


def test_a_source_that_is_renamed_or_added_is_a_change(frontend: Path) -> None:
    app_build.build(frontend)
    added = frontend / "src" / "new.ts"
    added.parent.mkdir()
    added.write_text("")
    assert not app_build.is_up_to_date(frontend)
    app_build.build(frontend)
    added.rename(added.with_name("renamed.ts"))
    assert not app_build.is_up_to_date(frontend)


def test_installed_packages_are_no_sources(frontend: Path) -> None:
    app_build.build(frontend)
    package = frontend / "node_modules" / "other" / "index.js"
    package.parent.mkdir(parents=True)
    package.write_text("")
    assert app_build.is_up_to_date(frontend)


def test_a_build_that_fails_gives_the_last_words_and_is_tried_again(frontend: Path) -> None:
    (frontend / "build.mjs").write_text("console.error('no such screen'); process.exit(3)")
    with pytest.raises(app_build.BuildError, match="no such screen"):
        app_build.build(frontend)
    assert not app_build.is_up_to_date(frontend)


def test_packages_that_disagree_with_the_lock_are_explained(frontend: Path) -> None:
    other = frontend / "other" / "package.json"
    other.parent.mkdir()
    other.write_text(json.dumps({"name": "other", "version": "1.0.0"}))
    changed = PACKAGE | {"dependencies": {"other": "file:other"}}
    (frontend / "package.json").write_text(json.dumps(changed))
    with pytest.raises(app_build.BuildError, match=r"package-lock\.json disagree"):
        app_build.build(frontend)


def test_a_registry_out_of_reach_is_explained(
    frontend: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("npm_config_registry", "http://127.0.0.1:1/")
    monkeypatch.setenv("npm_config_fetch_retries", "0")
    package = {"version": "1.0.0", "resolved": "http://127.0.0.1:1/far-1.0.0.tgz"}
    root = PACKAGE | {"dependencies": {"far": "1.0.0"}}
    (frontend / "package.json").write_text(json.dumps(root))
    lock = LOCK | {"packages": {"": root, "node_modules/far": package}}
    (frontend / "package-lock.json").write_text(json.dumps(lock))
    with pytest.raises(app_build.BuildError, match="could not reach its registry"):
        app_build.build(frontend)


def test_without_sources_there_is_nothing_to_build_but_a_build_may_be_served(
    tmp_path: Path,
) -> None:
    with pytest.raises(app_build.BuildError, match="sources are not here"):
        app_build.build(tmp_path)
    assert not app_build.is_up_to_date(tmp_path)
    (tmp_path / "dist").mkdir()
    (tmp_path / "dist" / "index.html").write_text("<!doctype html>")
    assert app_build.is_up_to_date(tmp_path)


def test_a_page_is_asked_for_each_time_and_a_hashed_file_once(
    frontend: Path, settings: Settings
) -> None:
    app_build.build(frontend)
    settings.WHITENOISE_ROOT = frontend / "dist"
    client = Client()
    page = client.get("/")
    assert page.status_code == 200
    assert "Access-Control-Allow-Origin" not in page.headers
    assert b"".join(page).startswith(b"<!doctype html>")
    for address in ("/", "/sw.js"):
        answer = client.get(address)
        assert answer.headers["Cache-Control"] == "no-cache"
        answer.close()
    script = client.get("/assets/index-BxK2_a9Z.js")
    assert "immutable" in script.headers["Cache-Control"]
    assert script.headers["Content-Type"].startswith("text/javascript")
    script.close()
    page.close()


def test_what_is_served_is_compressed_as_the_browser_can_read_it(
    frontend: Path, settings: Settings
) -> None:
    app_build.build(frontend)
    settings.WHITENOISE_ROOT = frontend / "dist"
    plain = (frontend / "dist" / "assets" / "index-BxK2_a9Z.js").read_bytes()
    unpack = {"br": brotli.decompress, "gzip": gzip.decompress, "": bytes}
    for asked, coding in (("gzip, br", "br"), ("gzip", "gzip"), ("identity", "")):
        answer = Client().get("/assets/index-BxK2_a9Z.js", headers={"Accept-Encoding": asked})
        sent = b"".join(answer)
        answer.close()
        assert answer.headers.get("Content-Encoding", "") == coding
        assert answer.headers["Vary"] == "Accept-Encoding"
        assert unpack[coding](sent) == plain
        assert coding == "" or len(sent) < len(plain) / 5


def test_an_app_that_is_not_built_says_so(settings: Settings) -> None:
    settings.WHITENOISE_ROOT = None
    answer = Client().get("/")
    assert answer.status_code == 503
    assert b"millrace build" in answer.content
