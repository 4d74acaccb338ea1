"""The table of all doors, and the application made of them.

Rule 1: a route is in this table or it does not exist.
"""

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from sync.shed import phone_doors
from sync.shed.answers import HEADS
from sync.shed.browser.doors import browser_doors
from sync.shed.doors import Door, route_of
from sync.shed.limits import Limits
from sync.shed.shed import Shed


def doors_of(limits: Limits) -> tuple[Door, ...]:
    """Give every door of the shed.

    Parameters
    ----------
    limits : Limits
        The bounds they are held to.

    Returns
    -------
    tuple of Door
        The phones', then the browser's.
    """
    json_bytes, seconds = limits.json_bytes, limits.request_s
    part = limits.part_bytes
    return (
        Door("/phone/pair/begin", "POST", "anyone", phone_doors.pair_begin, json_bytes, seconds),
        Door("/phone/pair", "POST", "anyone", phone_doors.pair, json_bytes, seconds),
        Door("/phone/session/begin", "POST", "anyone", phone_doors.session_begin, json_bytes,
             seconds),
        Door("/phone/session", "POST", "anyone", phone_doors.session, json_bytes, seconds),
        Door("/phone/uploads", "POST", "phone", phone_doors.upload_begin, json_bytes, seconds),
        Door("/phone/uploads/{sha256}", "PUT", "phone", phone_doors.upload_part, part, seconds),
        Door("/phone/sheet", "GET", "phone", phone_doors.sheet, 0, seconds),
        *browser_doors(limits),
    )


def app_of(shed: Shed) -> Starlette:
    """Make the application.

    Parameters
    ----------
    shed : Shed
        The running server's.

    Returns
    -------
    Starlette
        ASGI.
    """
    routes = [route_of(door, shed) for door in doors_of(shed.limits)]
    return Starlette(routes=routes, exception_handlers={
        404: _not_here, 405: _not_here, 500: _failed})


async def _not_here(request: Request, failure: Exception) -> Response:
    return PlainTextResponse("There is no such page.", 404, headers=dict(HEADS))


async def _failed(request: Request, failure: Exception) -> Response:
    return PlainTextResponse("Something went wrong at the shed. Nothing is lost; try again.", 500,
                             headers=dict(HEADS))
