"""What is no picture is refused on the phone, before it is kept."""

from playwright.sync_api import expect

from tests.browser.driving import Phone, arrive_at_next


def test_what_is_no_picture_is_said_to_be_none(driver: Phone) -> None:
    driver.page.get_by_role("button", name="Start the route").click()
    arrive_at_next(driver.page)
    field = driver.page.get_by_label("Take a photo")
    content = b"not a picture"
    field.set_input_files({"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": content})
    expect(driver.page.get_by_text("not a picture that this browser can read")).to_be_visible()
