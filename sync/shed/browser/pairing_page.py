"""Pairing and revoking phones.

Rule 1: the digits stand on this page alone, never in an address or a picture.
"""

import secrets
from io import BytesIO
from urllib.parse import urlencode

import segno
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from sync.disk.keys import load_phones, refuse_no_code, revoke
from sync.errors import IntakeError
from sync.shed.browser.page import page_of, show
from sync.shed.doors import Visit
from sync.shed.pairing import TRIES
from sync.shed.shed import Shed

_CODES = tuple(f"p{number}" for number in range(1, 1000))


async def pair_page(visit: Visit) -> Response:
    """Ask which phone code is to be paired."""
    page = await page_of(visit)
    return await show(page, "pair.html", phone=_free_code(visit.shed), refused="")


async def pair(visit: Visit) -> Response:
    """Make a pairing code."""
    phone = visit.said("phone")
    try:
        refuse_no_code(phone)
    except IntakeError:
        page = await page_of(visit)
        refused = page.words("A phone code is a small letter and up to seven small letters or "
                             "digits, such as p3; x is for phones without one.")
        return await show(page, "pair.html", status=400, phone=phone[:20], refused=refused)
    visit.shed.desk.open_code(phone)
    return RedirectResponse("/phones/code", 303)


async def code(visit: Visit) -> Response:
    """Show the code that is open."""
    page, desk = await page_of(visit), visit.shed.desk
    found = desk.current()
    return await show(
        page, "code.html", paired=desk.last_paired if found is None else None,
        digits=found.digits if found else "", phone=found.phone if found else "",
        minutes=desk.minutes_left(), tries=TRIES - found.tries if found else 0,
        addresses=visit.shed.addresses, qr=_picture(f"https://{visit.shed.addresses[0]}/pairing"),
    )


async def close(visit: Visit) -> Response:
    """Close the code that is open."""
    visit.shed.desk.close()
    return RedirectResponse("/phones", 303)


async def revoke_page(visit: Visit) -> Response:
    """Ask whether a phone is really to be revoked."""
    page = await page_of(visit)
    asked = visit.request.query_params
    phone, since = asked.get("phone", ""), asked.get("since", "")
    if not any((one.phone, one.since) == (phone, since) for one in load_phones(visit.shed.folder)):
        return RedirectResponse("/phones", 303)
    return await show(page, "revoke.html", phone=phone, since=since)


async def revoke_phone(visit: Visit) -> Response:
    """Revoke a phone."""
    try:
        await run_in_threadpool(_revoke, visit.shed, visit.said("phone"), visit.said("since"))
    except IntakeError:
        return RedirectResponse("/phones", 303)
    return RedirectResponse(f"/phones?{urlencode({'said': 'revoked'})}", 303)


def _revoke(shed: Shed, phone: str, since: str) -> None:
    with shed.taking:
        revoke(shed.folder, phone, since)


def _free_code(shed: Shed) -> str:
    given = {one.phone for one in load_phones(shed.folder)}
    return next((one for one in _CODES if one not in given), f"q{secrets.randbelow(10**6)}")


def _picture(address: str) -> Markup:
    """Draw an address as a QR code (ISO/IEC 18004), as SVG to stand on the page."""
    out = BytesIO()
    segno.make(address, error="m").save(
        out, kind="svg", xmldecl=False, svgns=True, svgclass=None, lineclass=None, border=4,
        omitsize=True, title=address, light="#fff")
    return Markup(out.getvalue().decode())
