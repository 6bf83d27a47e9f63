"""The three main jobs are done by keyboard alone: WCAG 2.2, criteria 2.1.1, 2.1.2, 2.4.3 and 2.4.7.

It is the story of the three jobs, told by hands that only have keys: Tab goes to a control, and
Enter, Space, arrows and letters work it.
"""

from typing import Any

import pytest
from playwright.sync_api import Locator

from tests.browser import test_story as story
from tests.browser.people import People

TABS_MAX = 250
# A group of radio buttons is one stop of Tab; arrows go on within it.
IS_FOCUSED = """(element) => {
  const focused = document.activeElement
  const isGroup = element.type === 'radio' && focused.type === 'radio'
  return focused === element || (isGroup && focused.name === element.name)
}"""
IS_SEEN_TO_BE_FOCUSED = "() => document.activeElement.matches(':focus-visible')"
COMES_EARLIER = """(element) => Boolean(
  document.activeElement.compareDocumentPosition(element) & Node.DOCUMENT_POSITION_PRECEDING)"""
CHOSEN = "(select) => select.selectedOptions[0]?.label.trim()"


def reach(control: Locator) -> None:
    """Go to a control with Tab, back with Shift where it comes earlier."""
    control.wait_for()
    keyboard = control.page.keyboard
    key = "Shift+Tab" if control.evaluate(COMES_EARLIER) else "Tab"
    for _ in range(TABS_MAX):
        if control.evaluate(IS_FOCUSED):
            assert control.page.evaluate(IS_SEEN_TO_BE_FOCUSED), control
            return
        keyboard.press(key)
    raise AssertionError(f"Tab does not come to {control}")


def press(control: Locator, **_options: Any) -> None:
    reach(control)
    control.page.keyboard.press("Enter")


def choose(control: Locator, **_options: Any) -> None:
    """Tick a box, or go to a radio button within its group."""
    reach(control)
    if control.get_attribute("type") != "radio":
        control.page.keyboard.press("Space")
    elif not control.is_checked():
        control.page.keyboard.press("Space")  # the one that Tab came to
        while not control.is_checked():
            control.page.keyboard.press("ArrowDown")
    assert control.is_checked()


def set_to(control: Locator, checked: bool, **_options: Any) -> None:
    if control.is_checked() != checked:
        reach(control)
        control.page.keyboard.press("Space")


def write(control: Locator, text: str, **_options: Any) -> None:
    reach(control)
    control.page.keyboard.press("ControlOrMeta+A")
    control.page.keyboard.type(text)


def pick(control: Locator, *, label: str, **_options: Any) -> None:
    reach(control)
    control.page.keyboard.press("Home")
    for _ in range(control.locator("option").count()):
        if control.evaluate(CHOSEN) == label:
            return
        control.page.keyboard.press("ArrowDown")
    raise AssertionError(f"{label} is not among what {control} offers")


@pytest.fixture
def keys_only(monkeypatch: pytest.MonkeyPatch) -> None:
    """From now on, nobody has a mouse or a finger."""
    hands = {"click": press, "check": choose, "set_checked": set_to, "fill": write}
    for deed, by_keys in {**hands, "select_option": pick}.items():
        monkeypatch.setattr(Locator, deed, by_keys)


@pytest.mark.usefixtures("keys_only")
def test_the_three_main_jobs_are_done_by_keyboard_alone(
    people: People, links: dict[str, str]
) -> None:
    story.test_from_a_registered_cap_collection_to_reported_kilograms(people, links)
