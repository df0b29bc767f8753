"""Working at a job's page as a person does: taps, typed characters, and what they cost."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from io import BytesIO

from PIL import Image
from playwright.sync_api import Locator, Page, expect

COUNTER = """
addEventListener("pointerdown", (event) => {
  if (event.isTrusted && event.isPrimary) sessionStorage.taps = Number(sessionStorage.taps ?? 0) + 1;
}, true);
addEventListener("keydown", (event) => {
  if (event.isTrusted && event.key === "Enter") sessionStorage.taps = Number(sessionStorage.taps ?? 0) + 1;
}, true);
addEventListener("beforeinput", (event) => {
  if (event.isTrusted) sessionStorage.typed = Number(sessionStorage.typed ?? 0) + (event.data ?? "").length;
}, true);
"""


def picture() -> bytes:
    """A photo of nothing."""
    made = BytesIO()
    Image.new("RGB", (64, 48), "grey").save(made, "JPEG")
    return made.getvalue()


@dataclass(frozen=True)
class Worker:
    """Somebody at a page of the bench."""

    page: Page

    def count(self) -> None:
        """Begin to count taps and typed characters."""
        self.page.context.add_init_script(COUNTER)

    def cost(self) -> tuple[int, int]:
        """Taps and typed characters so far [-]."""
        taps, typed = self.page.evaluate("[sessionStorage.taps ?? 0, sessionStorage.typed ?? 0]")
        return int(taps), int(typed)

    def ask(self, asked: str) -> Locator:
        """The question of that id."""
        return self.page.locator(f"[id='q-{asked.replace('/', '--')}']")

    def tap(self, asked: str) -> None:
        """Answer by one tap, and see that it was entered."""
        ask = self.ask(asked)
        before = ask.locator(".said").count()
        ask.locator("button[name=quick]").click()
        expect(ask.locator(".said")).not_to_have_count(before)

    def type_in(self, asked: str, label: str, text: str) -> None:
        """Tap a field, type into it, and enter it."""
        ask = self.ask(asked)
        ask.get_by_label(label, exact=True).click()
        self.page.keyboard.type(text)
        ask.get_by_role("button", name="Enter", exact=True).click()
        expect(ask.locator(".said")).to_have_count(1)

    def photo(self, asked: str) -> None:
        """Tap the key of a photo, and choose one."""
        ask = self.ask(asked)
        with self.page.expect_file_chooser() as chosen:
            ask.locator("input[type=file]").click()
        chosen.value.set_files({"name": "photo.jpg", "mimeType": "image/jpeg", "buffer": picture()})
        expect(ask.locator(".said")).to_have_count(1)

    def describe_tool(self) -> None:
        """The torque tool, described."""
        ask = self.ask("lay-out-parts/tool")
        ask.get_by_label("Range from").fill("5")
        ask.get_by_label("to", exact=True).fill("200")
        ask.get_by_label("Calibrated on").fill((date.today() - timedelta(days=30)).isoformat())
        ask.get_by_role("button", name="Enter", exact=True).click()
        expect(ask.locator(".said")).to_have_count(1)

    def follow(self, most: int = 60) -> list[str]:
        """Do what the line on top says, again and again, until it says to hand over; what it said."""
        said: list[str] = []
        for _ in range(most):
            title = self.page.locator("#now h2")
            said.append(title.inner_text().removeprefix("Now:").strip())
            if said[-1] == "Hand over":
                return said
            self.page.get_by_role("link", name="Go to it").click()
            self.answer(self.page.locator(".ask:focus"))
        raise AssertionError(f"after {most} steps it is not done: {said}")

    def answer(self, ask: Locator) -> None:
        """Answer the question that has the focus."""
        expect(ask).to_have_count(1)
        asked = str(ask.locator("form[data-ask]").first.get_attribute("data-ask"))
        if asked == "lay-out-parts/tool":
            self.describe_tool()
        elif asked.endswith("/odometer"):
            self.type_in(asked, "Odometer", "118900")
        else:
            self.tap(asked)
