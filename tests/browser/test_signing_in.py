"""A person's ways in, through the screens: a code, a passkey, and a device that is put out."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.people import People
from tests.browser.test_passkeys import add_authenticator, who_is_signed_in

ADDRESS = "wren@tern.example"


@pytest.fixture
def environment(environment: dict[str, str], tmp_path: Path) -> dict[str, str]:
    """A data folder of this test's own, in which mails are kept as files."""
    return {**environment, "MILLRACE_DATA": str(tmp_path / "data")}


class Mail:
    """The mails that the server wrote, as files."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def newest_code(self) -> str:
        newest = max(self._folder.glob("*.log"), key=lambda file: file.stat().st_mtime_ns)
        found = re.search(r"^\d{6}$", newest.read_text(), re.MULTILINE)
        assert found is not None, newest.read_text()
        return found.group()


def _enter_the_code(page: Page, mail: Mail) -> None:
    expect(page.get_by_text(f"We sent a code to {ADDRESS}.")).to_be_visible()
    page.get_by_label("Code").fill(mail.newest_code())
    page.get_by_role("button", name="Enter").click()
    expect(page.get_by_role("banner").get_by_role("link", name="You and this app")).to_be_visible()


def _sign_in_by_a_code(page: Page, mail: Mail, *, known: str) -> None:
    page.get_by_role("radio", name=known).check()
    page.get_by_label("E-mail address").fill(ADDRESS)
    page.get_by_role("button", name="Send me a code").click()
    _enter_the_code(page, mail)


def _go_to(page: Page, screen: str) -> None:
    page.get_by_role("banner").get_by_role("link", name="You and this app").click()
    page.get_by_role("link", name=screen).click()
    expect(page.get_by_role("heading", level=1, name=screen)).to_be_visible()


def _add_a_passkey(page: Page, name: str) -> None:
    _go_to(page, "Passkeys")
    page.get_by_label("What is this device called?").fill(name)
    page.get_by_role("button", name="Add a passkey of this device").click()
    expect(page.get_by_role("strong").filter(has_text=name)).to_be_visible()


def test_a_person_signs_up_comes_in_by_a_passkey_and_puts_another_device_out(
    people: People, tmp_path: Path
) -> None:
    mail = Mail(tmp_path / "data" / "mail")
    phone = people.open("/#/sign-in")
    add_authenticator(phone)
    _sign_in_by_a_code(phone, mail, known="No, I am new")
    _add_a_passkey(phone, "My phone")

    phone.get_by_role("banner").get_by_role("link", name="You and this app").click()
    phone.get_by_role("button", name="Sign out").click()
    phone.get_by_role("banner").get_by_role("link", name="Sign in").click()
    phone.get_by_role("button", name="Sign in with a passkey").click()
    expect(phone.get_by_role("banner").get_by_role("link", name="You and this app")).to_be_visible()
    assert who_is_signed_in(phone)["email"] == ADDRESS

    borrowed = people.open("/#/sign-in")
    _sign_in_by_a_code(borrowed, mail, known="Yes")

    _go_to(phone, "Where you are signed in")
    phone.get_by_role("button", name="Sign out", exact=False).first.click()
    phone.get_by_role("button", name="Yes, sign out", exact=False).click()
    expect(phone.get_by_text("This device")).to_be_visible()
    expect(phone.get_by_role("button", name="Yes, sign out")).to_have_count(0)

    borrowed.reload()
    expect(borrowed.get_by_role("banner").get_by_role("link", name="Sign in")).to_be_visible()
    assert who_is_signed_in(borrowed) is None
    assert who_is_signed_in(phone)["email"] == ADDRESS


def test_a_passkey_is_taken_away_only_once_one_was_shown(
    people: People, links: dict[str, str]
) -> None:
    maker = people.open(links["maker"])
    add_authenticator(maker)
    expect(maker.get_by_role("navigation")).to_be_visible()
    _add_a_passkey(maker, "Workshop computer")
    maker.get_by_role("button", name="Remove").click()
    maker.get_by_role("button", name="Yes, remove it").click()
    expect(maker.get_by_text("Show that it is you")).to_be_visible()
    maker.get_by_role("button", name="Show a passkey").click()
    expect(maker.get_by_text("Show that it is you")).to_have_count(0)
    maker.get_by_role("button", name="Yes, remove it").click()
    expect(maker.get_by_text("You have no passkey yet.")).to_be_visible()
