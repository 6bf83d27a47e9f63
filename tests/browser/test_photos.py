"""A photo taken without a signal arrives once, small and with nothing in it but the picture."""

import io
import json
from collections.abc import Callable

import numpy as np
from PIL import Image
from playwright.sync_api import Page, expect

from tests.browser.driving import Booked, Phone, arrive_at_next, weigh
from tests.browser.people import People, all_arrived

GPS_TAG = 0x8825  # Exif 2.32, section 4.6.3: where the location is kept
MAKE_TAG = 0x010F
# Notes how the file begins that a form takes along, how long it is, and whether it has Exif.
SENT = """() => {
  const send = window.fetch
  window.fetch = async (address, options) => {
    if (options?.body instanceof FormData) {
      const bytes = new Uint8Array(await options.body.get('file').arrayBuffer())
      const text = new TextDecoder('latin1').decode(bytes)
      window.sent = [[...bytes.slice(0, 3)], bytes.length, text.includes('Exif')]
    }
    return send(address, options)
  }
}"""


def photo_of_a_phone() -> bytes:
    """Draw a large JPEG that says where it was taken and by what."""
    grain = np.random.default_rng(7).integers(0, 256, (3000, 4000, 3), np.uint8)
    exif = Image.Exif()
    exif[MAKE_TAG] = "Pocket Camera"
    exif.get_ifd(GPS_TAG)[1] = "N"
    exif.get_ifd(GPS_TAG)[2] = (45.0, 0.0, 0.0)
    file = io.BytesIO()
    Image.fromarray(grain).save(file, "JPEG", quality=85, exif=exif)
    return file.getvalue()


def take(page: Page, content: bytes) -> None:
    field = page.get_by_label("Take a photo")
    field.set_input_files({"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": content})


def test_a_photo_taken_without_a_signal_arrives_once_and_without_its_location(
    driver: Phone, booked: Booked, people: People, sign_in: Callable[[str], str]
) -> None:
    original = photo_of_a_phone()
    assert len(original) > 4 * 1024 * 1024  # more than the server takes
    driver.page.get_by_role("button", name="Start the route").click()
    arrive_at_next(driver.page)
    weigh(driver.page, 7_840)
    all_arrived(driver.page)
    driver.cut()
    take(driver.page, original)
    expect(driver.page.get_by_role("img", name="not sent yet")).to_be_visible()
    expect(driver.count()).to_have_text("1 kept here")

    stop = f"/#/driving/{booked.route}/{booked.pickups[0]}"
    page = driver.reopen(stop)
    expect(page.get_by_role("img", name="not sent yet")).to_be_visible()
    driver.back()
    all_arrived(page)
    expect(page.get_by_role("img", name="not sent yet")).to_have_count(0)
    shown = page.get_by_role("main").get_by_role("img", name="Photo of")
    expect(shown).to_have_count(1)

    [photo] = _photos(page, booked)
    sent = page.request.get(photo["url"]).body()
    picture = Image.open(io.BytesIO(sent))
    assert max(picture.size) <= 1600  # as the app shrinks it
    assert not picture.getexif()
    assert b"Pocket Camera" not in sent
    page.get_by_role("button", name="Finish this stop").click()
    all_arrived(page)

    maker = people.open(f"/#/sign-in/{sign_in(booked.maker)}")
    # Signing in leads to the first screen; what is opened before that would be left again.
    maker.wait_for_url(lambda url: "sign-in" not in url)
    maker.goto(f"/#/making/routes/{booked.route}")
    expect(maker.get_by_role("img", name="Photo of")).to_be_visible()
    contact = people.open(f"/#/sign-in/{sign_in(booked.first_contact)}")
    expect(contact.get_by_role("img", name="Photo of")).to_be_visible()


def test_what_leaves_the_phone_is_small_and_has_no_metadata(driver: Phone) -> None:
    driver.page.evaluate(SENT)
    driver.page.get_by_role("button", name="Start the route").click()
    arrive_at_next(driver.page)
    all_arrived(driver.page)
    take(driver.page, photo_of_a_phone())
    driver.page.wait_for_function("() => window.sent")
    begins, bytes_sent, has_exif = driver.page.evaluate("window.sent")
    assert begins == [0xFF, 0xD8, 0xFF]  # a JPEG begins so, ITU-T T.81
    assert bytes_sent <= 1_000_000  # as the app shrinks it
    assert not has_exif


def test_what_is_no_picture_is_said_to_be_none(driver: Phone) -> None:
    driver.page.get_by_role("button", name="Start the route").click()
    arrive_at_next(driver.page)
    take(driver.page, b"not a picture")
    expect(driver.page.get_by_text("not a picture that this browser can read")).to_be_visible()


def _photos(page: Page, booked: Booked) -> list[dict[str, str]]:
    reply = page.request.get(f"/api/v1/communities/{booked.community}/routes/{booked.route}/")
    stops = json.loads(reply.text())["pickups"]
    return [photo for stop in stops for line in stop["lines"] for photo in line["photos"]]
