"""A container is found by its tag: scanned with or without a reader in the browser, or typed."""

import io
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import segno
from PIL import Image
from playwright.sync_api import Page, Playwright, expect

from tests.browser.driving import Booked, Phone, arrive_at_next
from tests.browser.people import People, all_arrived

NO_DETECTOR = "delete window.BarcodeDetector"
DETECTOR = """window.BarcodeDetector = class {
  static async getSupportedFormats() { return ['qr_code'] }
  async detect(video) { return video.videoWidth ? [{ rawValue: '%s' }] : [] }
}"""
CAMERA_PX = (640, 480)


def label_address(server: str, tag: str) -> str:
    return f"{server}/#/t/{tag}"


def film_of(address: str, path: Path) -> Path:
    """Film a label: Motion JPEG is JPEG after JPEG, which Chromium plays as its camera."""
    code = io.BytesIO()
    segno.make(address, error="m", micro=False).save(code, kind="png", scale=8)
    frame = Image.new("RGB", CAMERA_PX, "gray")
    label = Image.open(code).convert("RGB")
    left, top = ((a - b) // 2 for a, b in zip(CAMERA_PX, label.size, strict=True))
    frame.paste(label, (left, top))
    picture = io.BytesIO()
    frame.save(picture, "JPEG", quality=90)
    path.write_bytes(picture.getvalue() * 3)
    return path


@pytest.fixture
def filming(
    playwright: Playwright, launch: dict[str, Any], server: str, booked: Booked, tmp_path: Path
) -> Iterator[People]:
    """Phones whose camera looks at the label of the first stop's container."""
    film = film_of(label_address(server, booked.tags[0]), tmp_path / "label.mjpeg")
    camera = [
        "--use-fake-ui-for-media-stream",
        "--use-fake-device-for-media-stream",
        f"--use-file-for-fake-video-capture={film}",
    ]
    browser = playwright.chromium.launch(**{**launch, "args": [*launch["args"], *camera]})
    yield People(browser, server)
    browser.close()


def at_first_stop(
    people: People, booked: Booked, sign_in: Callable[[str], str], script: str
) -> Phone:
    phone = Phone(people, sign_in, booked.driver, script=script)
    phone.page.goto(f"/#/driving/{booked.route}")
    phone.page.get_by_role("button", name="Start the route").click()
    arrive_at_next(phone.page)
    all_arrived(phone.page)
    return phone


def scan(page: Page) -> None:
    page.get_by_text("Find a container by its tag").click()
    page.get_by_role("button", name="Scan the code").click()


def test_a_label_is_scanned_in_a_cellar_where_the_browser_reads_no_codes(
    filming: People, booked: Booked, sign_in: Callable[[str], str]
) -> None:
    phone = at_first_stop(filming, booked, sign_in, NO_DETECTOR)
    # What it takes was taken along with the route.
    phone.page.wait_for_function("caches.has('millrace.reader')")
    phone.cut()
    page = phone.reopen(f"/#/driving/{booked.route}/{booked.pickups[0]}")
    scan(page)
    expect(page.get_by_label("On the scale (gross)")).to_be_visible()
    expect(page.get_by_role("heading", name=booked.tags[0])).to_be_focused()


def test_a_browser_that_reads_codes_needs_no_reader_of_ours(
    filming: People, booked: Booked, sign_in: Callable[[str], str], server: str
) -> None:
    detector = DETECTOR % label_address(server, booked.tags[0])
    phone = at_first_stop(filming, booked, sign_in, detector)
    scan(phone.page)
    expect(phone.page.get_by_label("On the scale (gross)")).to_be_visible()
    assert not phone.page.evaluate("caches.has('millrace.reader')")


def test_a_code_of_something_else_is_said_to_be_that(
    filming: People, booked: Booked, sign_in: Callable[[str], str]
) -> None:
    phone = at_first_stop(filming, booked, sign_in, DETECTOR % "https://elsewhere.example/")
    scan(phone.page)
    expect(phone.page.get_by_text("This code is not of a container here.")).to_be_visible()
    phone.page.get_by_role("button", name="Stop scanning").click()
    expect(phone.page.locator("video")).to_have_count(0)


def test_without_a_camera_the_tag_is_typed(
    people: People, booked: Booked, sign_in: Callable[[str], str]
) -> None:
    refused = "navigator.mediaDevices.getUserMedia = () => Promise.reject(new Error('denied'))"
    page = at_first_stop(people, booked, sign_in, refused).page
    scan(page)
    expect(page.get_by_text("The camera cannot be used")).to_be_visible()
    find = page.get_by_role("button", name="Find it")
    page.get_by_label("Tag").fill("Q9 7777")
    find.click()
    expect(page.get_by_text("No container of this route has the tag Q9-7777.")).to_be_visible()
    page.get_by_label("Tag").fill(booked.tags[1])
    find.click()
    expect(page.get_by_text(f"{booked.tags[1]} belongs to")).to_be_visible()
    page.get_by_label("Tag").fill(booked.tags[0].lower())
    find.click()
    expect(page.get_by_label("On the scale (gross)")).to_be_visible()


def test_a_contact_finds_their_container_by_its_tag_without_a_signal(
    people: People, booked: Booked, sign_in: Callable[[str], str]
) -> None:
    phone = Phone(people, sign_in, booked.contact)
    expect(phone.page.get_by_role("heading", name="What to keep")).to_be_visible()
    phone.cut()
    page = phone.page
    page.get_by_role("link", name="Find a container by its tag").click()
    page.get_by_label("Tag").fill(booked.tags[-1])
    page.get_by_role("button", name="Find it").click()
    page.get_by_role("button", name="Half", exact=True).click()
    expect(page.get_by_text("Thank you, noted")).to_be_visible()
