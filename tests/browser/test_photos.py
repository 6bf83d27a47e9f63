"""A photo taken without a signal arrives once, small and with nothing in it but the picture."""

import io
import json

import numpy as np
from PIL import Image
from playwright.sync_api import Page, expect

from tests.browser.driving import Booked, Phone, arrive_at_next

GPS_TAG = 0x8825  # Exif 2.32, section 4.6.3: where the location is kept
MAKE_TAG = 0x010F
# Notes how the file begins that a form takes along, how long it is, and whether it has Exif.
SENT = """
const send = window.fetch
window.fetch = async (address, options) => {
  if (options?.body instanceof FormData) {
    const bytes = new Uint8Array(await options.body.get('file').arrayBuffer())
    const text = new TextDecoder('latin1').decode(bytes)
    window.sent = [[...bytes.slice(0, 3)], bytes.length, text.includes('Exif')]
  }
  return send(address, options)
}
"""


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


def test_what_is_no_picture_is_said_to_be_none(driver: Phone) -> None:
    driver.page.get_by_role("button", name="Start the route").click()
    arrive_at_next(driver.page)
    take(driver.page, b"not a picture")
    expect(driver.page.get_by_text("not a picture that this browser can read")).to_be_visible()


def _photos(page: Page, booked: Booked) -> list[dict[str, str]]:
    reply = page.request.get(f"/api/v1/communities/{booked.community}/routes/{booked.route}/")
    stops = json.loads(reply.text())["pickups"]
    return [photo for stop in stops for line in stop["lines"] for photo in line["photos"]]
