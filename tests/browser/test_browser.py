"""The main job in a real browser: register by command, move the clock, see the reminder, press Done, see the next date.

The browser is the distribution's Chromium. With PRACTICE_PICTURE=1 the picture of the README is made anew.
"""

from __future__ import annotations

import os
import shutil
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, Route, expect, sync_playwright

from tests.browser.running import running

PICTURE = Path(__file__).parent / "practice.png"
FLAGS = [
    "--no-sandbox",  # the build machine runs it as root
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
DESK = {"width": 1100, "height": 900}
PHONE = {"width": 390, "height": 844}
PATIENCE_MS = 20_000
expect.set_options(timeout=PATIENCE_MS)  # the first answer loads all that is known of words


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    found = shutil.which("chromium")
    if found is None:
        assert os.environ.get("CI") != "true", "CI needs the package chromium"
        pytest.skip("Chromium is not installed; the page was not looked at in a browser.")
    with sync_playwright() as play:
        launched = play.chromium.launch(executable_path=found, args=FLAGS)
        yield launched
        launched.close()


@pytest.fixture(scope="module")
def address(browser: Browser, community: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """One practice mode for all tests here; at the end SIGTERM must stop it without a word of trouble."""
    folder = shutil.copytree(community, tmp_path_factory.mktemp("browser") / "data")
    with running(folder) as process:
        yield process.address
        code, _, err = process.stop(signal.SIGTERM)
        assert (code, err) == (0, "")


def opened(browser: Browser, address: str, size: dict[str, int]) -> tuple[Page, list[str]]:
    """A page at its address, and the list of everything it complains about."""
    page = browser.new_page(viewport={"width": size["width"], "height": size["height"]})
    complaints: list[str] = []
    page.set_default_timeout(PATIENCE_MS)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("console", lambda line: complaints.append(line.text) if line.type == "error" else None)
    page.on("request", lambda asked: None if asked.url.startswith(address) else complaints.append(asked.url))
    page.goto(address)
    expect(page.locator("article").first).to_be_visible()
    return page, complaints


def calm(page: Page) -> None:
    """Wait until nothing is under way."""
    expect(page.locator("body:not([data-busy])")).to_be_visible()


def register(page: Page, name: str) -> None:
    """Type the command and its options, by keyboard alone."""
    keyboard = page.keyboard
    page.locator("#words").focus()
    keyboard.type("/colony ad")
    expect(page.get_by_role("option", name="/colony add")).to_be_visible()
    keyboard.press("ArrowDown")
    keyboard.press("Enter")
    expect(page.get_by_role("combobox", name="species")).to_be_focused()
    keyboard.type("lasius ni")
    expect(page.get_by_role("option", name="Lasius niger")).to_be_visible()
    keyboard.press("ArrowDown")
    keyboard.press("Enter")
    keyboard.press("Tab")
    keyboard.type("25")
    keyboard.press("Tab")
    keyboard.type(name)
    keyboard.press("Enter")
    expect(page.locator("article").last).to_contain_text(name)
    calm(page)


def reminder_of(page: Page, name: str) -> Locator:
    """Go from reminder to reminder until one speaks of a colony; returns that message."""
    for _ in range(10):
        before = page.locator("article").count()
        page.get_by_role("button", name="To the next reminder").click()
        expect(page.locator("#word")).to_contain_text("Direct messages arrived")
        calm(page)
        expect(page.locator("article")).not_to_have_count(before)
        newest = page.locator("article").last
        if newest.get_by_role("heading", name=name).count():
            return newest
    raise AssertionError(f"no reminder for {name} came")


def test_register_remind_answer_and_the_next_date(browser: Browser, address: str, tmp_path: Path) -> None:
    page, complaints = opened(browser, address, DESK)
    assert page.get_by_role("button", name="Maren").get_attribute("aria-pressed") == "true"
    day = page.locator("#day").inner_text()
    register(page, "Nib")
    reminder = reminder_of(page, "Nib")
    assert page.locator("#day").inner_text() != day or page.locator("#time").inner_text() == "18:00"
    group = reminder.get_by_role("group", name="Nib")
    group.get_by_role("button", name="Done", exact=True).click()
    expect(reminder).to_contain_text("Next: ")
    calm(page)
    assert page.evaluate("document.activeElement.closest('article') !== null"), "the keyboard stays in the message"
    file = PICTURE if os.environ.get("PRACTICE_PICTURE") else tmp_path / "practice.png"
    page.screenshot(path=file)
    assert file.read_bytes().startswith(b"\x89PNG")
    assert not complaints
    page.close()


def test_other_people_rooms_and_refusals(browser: Browser, address: str) -> None:
    page, complaints = opened(browser, address, DESK)
    page.get_by_role("button", name="Quirin").click()
    page.get_by_role("button", name="# helpers").click()
    expect(page.locator("#feed")).to_contain_text("Two new keepers")
    page.get_by_role("button", name="Tobi").click()
    expect(page.get_by_role("button", name="# helpers")).to_have_count(0)
    page.locator("#words").fill("<img src=x onerror=alert(1)> **bold**")
    page.get_by_role("button", name="Send", exact=True).click()
    expect(page.locator("article").last).to_contain_text("<img src=x onerror=alert(1)> bold")
    assert not complaints
    page.locator("#words").fill("/colony ad")
    page.keyboard.press("Enter")
    expect(page.locator("#word")).to_contain_text("There is no command “/colony ad” here")
    page.locator("#words").fill("/colony add")
    page.get_by_role("combobox", name="species").fill("Lasius niger")
    page.get_by_role("textbox", name="workers").fill("many")
    page.get_by_role("textbox", name="name").fill("Nib")
    page.keyboard.press("Enter")
    expect(page.locator("#word")).to_have_text("workers: give a whole number, such as 12.")
    page.close()


def test_a_whole_line_may_be_typed_or_pasted(browser: Browser, address: str) -> None:
    page, complaints = opened(browser, address, DESK)
    line = page.locator("#words")
    line.fill("/ask my test tube is dry, what now?")
    expect(page.get_by_role("textbox", name="question")).to_have_value("my test tube is dry, what now?")
    page.get_by_role("button", name="Send", exact=True).click()
    expect(page.locator("article").last).to_contain_text("water")
    calm(page)
    line.fill("/season share count_me:perhaps")
    page.get_by_role("button", name="Send", exact=True).click()
    expect(page.locator("#word")).to_have_text("count_me: “perhaps” is none of yes, no.")
    line.fill("/colony add species:Lasius niger workers:40 name:Ember and Ash")
    page.get_by_role("button", name="Send", exact=True).click()
    expect(page.locator("article").last).to_contain_text("Ember and Ash")
    calm(page)
    line.fill("/care week anything")
    page.get_by_role("button", name="Send", exact=True).click()
    expect(page.locator("#word")).to_contain_text("“anything” is no option of /care week; write option:value.")
    assert not complaints
    page.close()


def test_who_types_before_the_commands_are_known_is_offered_them_when_they_come(browser: Browser, address: str) -> None:
    page = browser.new_page()
    page.set_default_timeout(PATIENCE_MS)
    held: list[Route] = []
    page.route("**/commands?*", lambda route: held.insert(0, route))
    page.goto(address)
    expect(page.locator("article").first).to_be_visible()
    page.locator("#words").focus()
    page.keyboard.type("/colony ad")
    expect(page.get_by_role("listbox")).to_have_count(0)
    (asked,) = held
    asked.continue_()
    expect(page.get_by_role("option", name="/colony add")).to_be_visible()
    page.close()


def test_it_fits_a_phone(browser: Browser, address: str) -> None:
    page, complaints = opened(browser, address, PHONE)
    width = page.evaluate("document.documentElement.scrollWidth")
    assert width == PHONE["width"], "nothing sticks out"
    for name in ("+1 hour", "To the next reminder", "Send", "direct messages"):
        box = page.get_by_role("button", name=name).bounding_box()
        assert box is not None
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= PHONE["width"], name
    feed = page.locator("#feed").bounding_box()
    assert feed is not None
    assert feed["height"] > PHONE["height"] / 2
    assert not complaints
    page.close()
