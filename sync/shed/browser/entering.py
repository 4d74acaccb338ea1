"""Coming in: sign-in, sign-out, the page that a phone's camera opens, and the fixed files.

Rule 1: these are the only doors that open to strangers, and they say nothing of the block.
"""

import secrets
from datetime import UTC
from importlib import resources

from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response

from sync.report.flag_case import CASE_CSS
from sync.report.map_css import MAP_CSS
from sync.report.page_css import REPORT_CSS
from sync.report.permit import RETURN_CSS
from sync.shed.browser.page import templates, token
from sync.shed.doors import COOKIE, VISIT, Visit
from sync.shed.limits import SIGN_IN, SIGN_IN_OF_ALL
from sync.shed.words import LANGUAGES, ShedWords

_STATIC = {"style.css": "text/css", "page.js": "text/javascript", "icon.svg": "image/svg+xml"}
_VISIT_BYTES = 16


async def front(visit: Visit) -> Response:
    """Lead to the block."""
    return RedirectResponse("/block", 303)


async def static(visit: Visit) -> Response:
    """Give one of the fixed files."""
    name = visit.request.path_params["name"]
    if name not in _STATIC:
        return PlainTextResponse("There is no such page.", 404)
    content = resources.files("sync.shed.browser").joinpath("static", name).read_bytes()
    if name == "style.css":
        content += (MAP_CSS + REPORT_CSS + CASE_CSS + RETURN_CSS).encode()
    return Response(content, media_type=_STATIC[name],
                    headers={"Cache-Control": "max-age=300"})


async def sign_in_page(visit: Visit) -> Response:
    """Ask for the code or the key."""
    if visit.shed.sign_in.session(visit.request.cookies.get(COOKIE)) is not None:
        return RedirectResponse("/block", 303)
    again = "again" in visit.request.query_params
    return _asking(visit, "" if not again else "late")


async def sign_in(visit: Visit) -> Response:
    """Sign the owner in."""
    allows = visit.shed.allowances.allows
    if not (allows("sign in", visit.host, SIGN_IN) and allows("sign in", "", SIGN_IN_OF_ALL)):
        return _asking(visit, "many", status=429)
    cookie = visit.shed.sign_in.sign_in(visit.said("code"), language=_language(visit))
    if cookie is None:
        return _asking(visit, "wrong", status=403)
    answer = RedirectResponse("/block", 303)
    _set(answer, COOKIE, cookie)
    answer.delete_cookie(VISIT, secure=True, httponly=True, samesite="strict")
    return answer


async def sign_out(visit: Visit) -> Response:
    """End the owner's session."""
    visit.shed.sign_in.sign_out(visit.request.cookies.get(COOKIE))
    answer = RedirectResponse("/sign-in", 303)
    answer.delete_cookie(COOKIE, secure=True, httponly=True, samesite="strict")
    return answer


async def speak(visit: Visit) -> Response:
    """Change the language of the pages."""
    if visit.said("language") in LANGUAGES:
        visit.shed.sign_in.speak(visit.cookie, visit.said("language"))
    return RedirectResponse(visit.back, 303)


async def for_phones(visit: Visit) -> Response:
    """Tell whoever scanned the code on the owner's page how a phone is paired."""
    words = ShedWords(_language(visit), UTC)
    text = templates().get_template("for_phones.html").render(
        _=words, lang=words.language, addresses=visit.shed.addresses, pin=visit.shed.pin)
    return HTMLResponse(text)


def _asking(visit: Visit, trouble: str, *, status: int = 200) -> Response:
    words = ShedWords(_language(visit), UTC)
    made = None
    if not visit.request.cookies.get(VISIT):
        made = secrets.token_urlsafe(_VISIT_BYTES)
        visit.request.cookies[VISIT] = made  # the token below is for the cookie that is set here
    text = templates().get_template("sign_in.html").render(
        _=words, lang=words.language, trouble=trouble, token=token(visit))
    answer = HTMLResponse(text, status)
    if made is not None:
        _set(answer, VISIT, made)
    return answer


def _set(answer: Response, name: str, value: str) -> None:
    answer.set_cookie(name, value, path="/", secure=True, httponly=True, samesite="strict")


def _language(visit: Visit) -> str:
    """Give the language that the browser asks for first, of those there are."""
    asked = visit.request.headers.get("accept-language", "")[:200]
    for part in asked.split(","):
        language = part.split(";")[0].strip()[:2].lower()
        if language in LANGUAGES:
            return language
    return "en"
