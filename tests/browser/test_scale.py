"""A scale with Bluetooth is read by the standard service, and what goes wrong with it is said.

The radio is stood in for at the browser's own border, `navigator.bluetooth`.
"""

from collections.abc import Callable

from playwright.sync_api import Page, expect

from tests.browser.driving import Booked, Phone, arrive_at_next, take_it_along
from tests.browser.people import People, all_arrived

# A scale that is chosen, connected and heard as Web Bluetooth has it; `scale.says(bytes)` and
# `scale.goes()` are for the test.
SCALE = """
(() => {
  const measurement = Object.assign(new EventTarget(), { startNotifications: async () => {} })
  const device = new EventTarget()
  device.gatt = {
    disconnect() {},
    connect: async () => ({
      getPrimaryService: async (service) => {
        if (service !== 0x181d) throw new DOMException('no such service', 'NotFoundError')
        return { getCharacteristic: async (kind) => {
          if (kind !== 0x2a9d) throw new DOMException('no such characteristic', 'NotFoundError')
          return measurement
        } }
      },
    }),
  }
  window.scale = {
    says(bytes) {
      measurement.value = new DataView(Uint8Array.from(bytes).buffer)
      measurement.dispatchEvent(new Event('characteristicvaluechanged'))
    },
    goes() { device.dispatchEvent(new Event('gattserverdisconnected')) },
  }
  const bluetooth = { requestDevice: async () => device }
  Object.defineProperty(navigator, 'bluetooth', { value: bluetooth, configurable: true })
})()
"""
REFUSED = """Object.defineProperty(navigator, 'bluetooth', { value: { requestDevice: async () => {
  throw new DOMException('User cancelled', 'NotFoundError') } } })"""
NONE = "Object.defineProperty(navigator, 'bluetooth', { value: undefined })"


def weighing(people: People, booked: Booked, sign_in: Callable[[str], str], script: str) -> Page:
    """Open the form in which a container is weighed."""
    page = Phone(people, sign_in, booked.driver, script=script).page
    page.goto(f"/#/driving/{booked.route}")
    page.get_by_role("button", name="Start the route").click()
    arrive_at_next(page)
    page.get_by_role("button", name="Weigh").click()
    expect(page.get_by_label("Scale", exact=True)).not_to_have_value("")
    return page


def test_a_mass_is_read_from_the_scale_and_goes_into_the_ledger(
    people: People, booked: Booked, sign_in: Callable[[str], str], ledger: Callable[[], list[int]]
) -> None:
    page = weighing(people, booked, sign_in, SCALE)
    page.get_by_role("button", name="Read from the scale").click()
    expect(page.get_by_text("The scale is connected.")).to_be_visible()
    page.evaluate("scale.says([0, 0xff, 0xff])")
    expect(page.get_by_text("The scale could not weigh.")).to_be_visible()
    page.evaluate("scale.says([0, 1569 & 0xff, 1569 >> 8])")
    expect(page.get_by_text("The scale says 7.845 kg.")).to_be_visible()
    expect(page.get_by_label("On the scale (gross)")).to_have_value("7.845")
    page.evaluate("scale.goes()")
    expect(page.get_by_text("The scale is gone.")).to_be_visible()
    take_it_along(page)
    all_arrived(page)
    assert ledger() == [7_845 - 150]


def test_a_scale_that_was_not_chosen_leaves_typing(
    people: People, booked: Booked, sign_in: Callable[[str], str]
) -> None:
    page = weighing(people, booked, sign_in, REFUSED)
    page.get_by_role("button", name="Read from the scale").click()
    expect(page.get_by_text("No scale was connected.")).to_be_visible()
    expect(page.get_by_label("On the scale (gross)")).to_be_editable()


def test_a_browser_without_bluetooth_says_nothing_of_it(
    people: People, booked: Booked, sign_in: Callable[[str], str]
) -> None:
    page = weighing(people, booked, sign_in, NONE)
    expect(page.get_by_role("button", name="Read from the scale")).to_have_count(0)
