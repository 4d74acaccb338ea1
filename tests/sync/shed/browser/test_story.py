"""The owner's evening in a real browser, with a real phone, once with scripts and once without."""

import json
import subprocess
import sys
import threading
from datetime import UTC, datetime, timedelta

import mire_with_all as mire
import pytest
import small_blocks

from fieldapp.device.phone_folder import PhoneFolder

pytestmark = pytest.mark.draws
NOW = datetime(2026, 2, 12, 5, tzinfo=UTC)
OUT = datetime(2026, 2, 11, 19, tzinfo=UTC)


def send(phone):
    (sent,) = phone.send_to_shed(now=NOW, program="0.1.0", tell=lambda have, size: None,
                                 stop=threading.Event()).journals
    return sent


def pick_too_early(phone, bags=14):
    """Note an outing on the phone: bags from B02, which rests."""
    lon, lat = small_blocks.lonlat(150, 150)
    with phone.journal(phone.in_use()) as journal:
        def note(kind, after_min, **fields):
            at = OUT + timedelta(minutes=after_min)
            journal.append({"kind": kind, "at": at.strftime("%Y-%m-%dT%H:%M:%S.000Z"),
                            "person": "RK", **fields})
        note("outing", 0, state="start", role="picker", where=None)
        for i in range(bags):
            note("bag", 10 * i + 5, bags=1,
                 where={"lat": lat, "lon": lon, "acc_m": 4, "age_s": 1, "lag_s": 0.2})
        note("outing", 240, state="end", finished=[], where=None)


def register_of(folder):
    words = ["register", str(folder), "--on", mire.DAY.isoformat(), "--json"]
    told = subprocess.run([sys.executable, "-c", "from sync.cli import main; main()", *words],
                          capture_output=True, check=True)
    return json.loads(told.stdout)


def spread(found, digits=0):
    return f"{found['low']:.{digits}f}–{found['high']:.{digits}f}"


def figures_of(row):
    """Write what a cell's page should say, by the register's JSON."""
    crop, whole = row["standing_crop_t_ha"], row["standing_crop_kg"]
    return {
        "standing crop": (f"{crop['value']:.1f} t/ha", spread(crop, 1)),
        "standing crop, whole cell": (f"{whole['value']:.0f} kg", spread(whole)),
        "cover": (f"{row['cover_pct']['value']:.0f} %", spread(row["cover_pct"])),
        "depth": (f"{row['depth_mm']['value']:.0f} mm", spread(row["depth_mm"])),
        "sustainable harvest": (f"{row['sustainable_pct']:.1f} %", "–"),
        "may be taken": (f"{row['may_take_kg']:.0f} kg", "–"),
        "left": (f"{row['left_kg']:.0f} kg", "–"),
    }


def figures_on(page):
    rows = page.locator("table.figures tbody tr").all()
    boxes = [[box.inner_text() for box in row.locator("th, td").all()] for row in rows]
    return {name: (value, spread) for name, value, spread, *_ in boxes}


@pytest.fixture
def shed(open_shed, tmp_path):
    mire.make(tmp_path / "block", small_blocks, quiet=True)
    return open_shed(tmp_path / "block")


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts on", "scripts off"])
def test_an_evening_at_the_shed(shed, windows, tmp_path, scripts):
    owner = windows(shed, java_script_enabled=scripts)
    phone = PhoneFolder(tmp_path / "phone")

    owner.sign_in(shed.code)
    page = owner.settled()
    pair(owner, phone)
    pick_too_early(phone)
    assert (send(phone).trouble, send(phone).left) == (None, 0)
    is_on_the_phones_page(owner, phone, "16")
    of_the_day(owner)
    read_the_cells(owner, register_of(shed.folder))
    rule_and_rule_again(owner)
    revoke(owner, phone)
    refused = send(phone)

    assert refused.trouble.code == "revoked"
    page.goto("/block")
    page.click("footer button:has-text('Sign out')")
    assert page.url.endswith("/sign-in")


def pair(owner, phone):
    page = owner.page
    page.click("nav a:has-text('Phones')")
    page.click("main a:has-text('Pair a phone')")
    assert page.input_value("#phone") == "p2"
    page.click("button:has-text('Make a pairing code')")
    install = phone.pair_over_wifi(owner.shed.address, owner.digits())
    page.click("text=Look again")

    assert install.device.startswith("p2-")
    assert "Phone p2 is paired" in page.inner_text("main [role=status]")


def is_on_the_phones_page(owner, phone, number):
    page = owner.open("/phones")
    row = page.locator("tr", has=page.locator("th", has_text="p2")).inner_text()
    log = page.locator("[aria-labelledby=log-head] tbody tr").first.inner_text()

    assert "RK R. K." in row
    assert number in row
    assert phone.in_use().device in log
    assert "16 new" in log


def of_the_day(owner):
    """Ask for the register of a day, as the date field does."""
    page = owner.open("/block")
    page.fill("#on", mire.DAY.isoformat())
    page.click("header button:has-text('Show')")

    assert "20 Feb 2026" in owner.settled().inner_text("main .lead")


def read_the_cells(owner, register):
    rows = {row["cell"]: row for row in register["cells"]}
    for cell in ("B02", "B01"):
        owner.open("/block?on=2026-02-20").click(f"#map-room a[data-cell={cell}]")
        owner.page.wait_for_url(f"**/cell/{cell}?on=2026-02-20")
        expected = figures_of(rows[cell])
        shown = figures_on(owner.page)

        assert {name: shown[name] for name in expected} == expected
    assert rows["B01"]["may_take_kg"] > 0
    assert rows["B02"]["state"] == "resting"


def rule_and_rule_again(owner):
    page = owner.page
    page.click("nav a:has-text('Flags')")
    flag = page.locator("article", has_text="Picked before rest ended")
    flag.locator("input[name=note]").fill("seen on the walk, “R.K.” <b>")
    flag.locator("button:has-text('Upheld')").click()
    assert "Ruled: " in page.inner_text("main .done")
    assert page.locator("h2#decided ~ article").count() == 1

    flag.locator("summary").click()
    flag.locator("button:has-text('Not so')").click()
    page.wait_for_url("**said=**")

    rulings = flag.locator(".rulings li").all()
    assert ["Upheld" in rulings[0].inner_text(), "Not so" in rulings[1].inner_text()] == [
        True, True]
    assert "“seen on the walk, “R.K.” <b>”" in rulings[0].inner_text()
    assert [one.locator("s").count() for one in rulings] == [1, 0]


def revoke(owner, phone):
    page = owner.open("/phones")
    row = page.locator("tr", has=page.locator("th", has_text="p2"))
    row.locator("a:has-text('Revoke')").click()
    page.click("button:has-text('Revoke it')")

    assert "The phone is revoked" in page.inner_text("main .done")
    assert "revoked" in row.inner_text()
    pick_too_early(phone, bags=1)
