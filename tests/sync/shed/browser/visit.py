"""A browser that visits the shed: how it is started and signed in, and what its pages are.

Rule 1: the pages' Content-Security-Policy is on, and no page may break it; axe alone goes by.
"""

import dataclasses
import os
import re
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

#: No internet is looked for, and no sandbox where the tests run as root.
ARGS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)
WIDE, NARROW = {"width": 1280, "height": 900}, {"width": 320, "height": 640}
ON = "on=2026-02-20"
_PATIENCE_S = 60.0
#: For what a page does by itself; Playwright's own 30 s hide which test is at fault. [ms]
_SOON_MS = 10_000
_AT_WORK = "text=/is being worked out|se está calculando/i"

#: Every page by what it shows: its address.
PAGES = {
    "block": f"/block?{ON}",
    "block with kg, half": f"/block?{ON}&number=kg&size=half",
    "block with picked %, cells": f"/block?{ON}&number=picked_pct&size=cells",
    "block with rest ends, sorted": f"/block?{ON}&number=rest_ends&sort=take&down=1&state=ready",
    "block as a map of scrub": f"/block?{ON}&layer=scrub",
    "block as a map of water's change": f"/block?{ON}&layer=water_change&number=kg",
    "ready cell": f"/cell/B01?{ON}",
    "resting cell": f"/cell/B02?{ON}",
    "closed cell": f"/cell/C02?{ON}",
    "unsurveyed cell": f"/cell/C03?{ON}",
    "taken cell": f"/cell/A01?{ON}",
    "no such cell": f"/cell/Z99?{ON}",
    "flags": f"/flags?{ON}",
    "early pick": f"/flags/early_pick:B02:2025/page?{ON}",
    "phones": "/phones",
    "pair": "/phones/pair",
    "no code": "/phones/code",
    "set aside": "/aside",
    "clip": f"/type/clip?{ON}",
    "lot": "/type/lot",
    "batch": f"/type/batch?{ON}",
    "bag": "/type/bag",
    "past pick": f"/type/past_pick?cell=C03&{ON}",
    "notice": "/type/notice",
    "plan": f"/plan?{ON}",
    "seasons": f"/plan/seasons?{ON}",
    "lifts": f"/plan/lifts?{ON}&limit_kg=620",
    "report": f"/report?{ON}",
    "report with maps": f"/report?{ON}&maps=1",
    "return": f"/report/return?permit=TM-1&year=2025&{ON}",
    "record": "/record/p1-aaaa:2",
    "no such record": "/record/p9-zzzz:1",
    "help": "/help",
    "no day": "/block?on=yesterday",
    "for phones": "/pairing",
}


@dataclasses.dataclass
class Visitor:
    """One browser window on a shed; `broken` is what the console said against the policy."""

    page: Any
    shed: Any
    broken: list[str] = dataclasses.field(default_factory=list)

    def sign_in(self, code: str) -> None:
        """Sign in as a person does."""
        self.page.goto("/sign-in")
        self.page.fill("#code", code)
        self.page.click("button.main")
        self.page.wait_for_url("**/block*")

    def open(self, path: str) -> Any:
        """Open a page, once the register behind it is built."""
        self.page.goto(path)
        return self.settled()

    def settled(self) -> Any:
        """Wait until the page shows a register that is not being worked out."""
        until = time.monotonic() + _PATIENCE_S
        while self.page.locator(_AT_WORK).count():
            assert time.monotonic() < until, self.page.inner_text("main")
            time.sleep(0.1)
            self.page.reload()
        return self.page

    def digits(self) -> str:
        """Read the pairing code off the page."""
        shown = self.page.inner_text(".digits")
        return re.sub(r"\s", "", shown)


def visitor(browser: Any, shed: Any, **context: Any) -> Visitor:
    """Open a window of its own; its cookies end with it."""
    opened = browser.new_context(
        base_url=f"https://{shed.address}", ignore_https_errors=True,
        **{"viewport": WIDE, "locale": "en-GB", "reduced_motion": "reduce", **context})
    opened.set_default_timeout(_SOON_MS)
    made = Visitor(opened.new_page(), shed)

    def hear(message: Any) -> None:
        if "Content Security Policy" in message.text:
            made.broken.append(message.text)
    made.page.on("console", hear)
    return made


def with_mistakes(seen: Visitor) -> Iterator[tuple[str, Callable[[], None]]]:
    """Give the pages that only a form opens, each with how it is opened."""
    for kind in ("clip", "lot", "batch", "bag", "past_pick", "notice"):
        yield f"{kind} with mistakes", lambda kind=kind: _fill_wrong(seen, kind)
    yield "weight again", lambda: _weight(seen)
    yield "weights that do not agree", lambda: _disagree(seen)
    yield "something odd", lambda: _odd(seen)
    yield "pairing code", lambda: _code(seen)
    yield "no phone code", lambda: _no_code(seen)
    yield "revoke", lambda: _revoke(seen)
    yield "refused file", lambda: _file(seen)


def _fill_wrong(seen: Visitor, kind: str) -> None:
    page = seen.open(f"/type/{kind}")
    page.evaluate("""() => {
      document.querySelector("main form").noValidate = true;
      for (const one of document.querySelectorAll("main form [type=text]")) one.value = "#";
    }""")
    page.click("main form button.main")
    page.wait_for_selector("[aria-invalid=true]")


def _weight(seen: Visitor) -> None:
    page = seen.open("/type/clip")
    page.select_option("#field-person", "O")
    page.fill("#field-clip", "K7")
    page.fill("#field-dry_g", "120")
    page.select_option("#field-dried", "shed")
    page.click("main form button.main")
    page.wait_for_selector("#again")


def _disagree(seen: Visitor) -> None:
    """Go on from the page that asks for the weight again."""
    seen.page.fill("#again", "121")
    seen.page.click("main form button.main")
    seen.page.wait_for_selector("#trouble")


def _odd(seen: Visitor) -> None:
    page = seen.open("/type/bag")
    page.select_option("#field-person", "O")
    page.fill("#field-cell", "C01")
    page.fill("#field-bags", "30")
    page.click("main form button.main")
    page.wait_for_selector("[name=sure]")


def _code(seen: Visitor) -> None:
    page = seen.open("/phones/pair")
    page.click("main form button.main")
    page.wait_for_selector(".digits")


def _no_code(seen: Visitor) -> None:
    page = seen.open("/phones/pair")
    page.fill("#phone", "Nine")
    page.evaluate("document.querySelector('main form').noValidate = true")
    page.click("main form button.main")
    page.wait_for_selector("#trouble")


def _revoke(seen: Visitor) -> None:
    page = seen.open("/phones")
    page.click("main a[href^='/phones/revoke']")
    page.wait_for_selector("main form button.main")


def _file(seen: Visitor) -> None:
    page = seen.open("/phones")
    page.set_input_files("#file", {"name": "odd.handover.zip", "mimeType": "application/zip",
                                   "buffer": b"no zip"})
    page.click("form[action='/take'] button.main")
    page.wait_for_selector("main [role=alert]")


def axe_file() -> Path | None:
    """Find axe-core, which npm brings; None if it is not there."""
    named = os.environ.get("FALLOW_AXE")
    root = Path(__file__).parents[4]
    found = Path(named) if named else root / "node_modules/axe-core/axe.min.js"
    return found if found.is_file() else None
