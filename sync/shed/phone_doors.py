"""What the phones ask: pairing, a session, uploads, the ground sheet.

Rule 1: numbers are acknowledged only once the shed's journal has them on disk.
Rule 2: a phone that was cut off goes on where it was; asking twice changes nothing.
"""

import asyncio
import secrets

from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect
from starlette.responses import Response

from fieldapp.device.pairing import KEY_BYTES, Pairing
from fieldapp.record import DEVICE
from sync.block import Block
from sync.disk.folder import load_block
from sync.disk.journal import ShedJournal
from sync.disk.keys import PairedPhone, bind, load_phones, new_pairing
from sync.disk.outcome import FileTaken, Options
from sync.disk.sheets import sheet_file
from sync.disk.taking import take_files
from sync.disk.uploads import (
    OffsetError,
    Upload,
    add_part,
    begin_upload,
    finish_upload,
    known_upload,
)
from sync.errors import IntakeError
from sync.shed.answers import RefusalError, asked, said, text_of
from sync.shed.doors import Visit
from sync.shed.limits import PAIR, SESSION
from sync.shed.pairing import NoCodeError, WrongCodeError
from sync.shed.phone_sessions import PhoneSession, proof_of
from sync.shed.shed import Shed

#: How long a phone waits for the register that its hand-over is in. [s]
_SHEET_WAIT_S = 60.0
_LOOK_S = 0.1
_TRY_AGAIN = "wait a minute and try again"


async def pair_begin(visit: Visit) -> Response:
    """Give a phone what it needs to show that its person has the code."""
    _count(visit, "pair", "")
    asked(await visit.request.body())
    try:
        return said(visit.shed.desk.begin())
    except NoCodeError:
        raise _no_code() from None


async def pair(visit: Visit) -> Response:
    """Pair a phone whose proof fits."""
    _count(visit, "pair", "")
    fields = asked(await visit.request.body())
    nonce, own, proof = (text_of(fields, name) for name in ("nonce", "phone_nonce", "proof"))
    shed = visit.shed
    block, _ = await run_in_threadpool(load_block, shed.folder)  # broken, it costs no code
    try:
        used = shed.desk.check(nonce, own, proof)
    except NoCodeError:
        raise _no_code() from None
    except WrongCodeError:
        raise RefusalError(403, "wrong_code", "the digits are not those on the owner's page, or "
                           "this is not the shed's own Wi-Fi: look at both and type them again"
                           ) from None
    paired = await run_in_threadpool(_paired, shed, block, used.phone)
    return said(shed.desk.answer(used, paired, nonce=nonce, phone_nonce=own))


def _paired(shed: Shed, block: Block, phone: str) -> Pairing:
    key = secrets.token_bytes(KEY_BYTES)
    with shed.taking:
        return new_pairing(shed.folder, block, phone, key, now=shed.clocks.now())


def _no_code() -> RefusalError:
    return RefusalError(403, "no_code", "no pairing code is open: the owner makes one on the "
                                        "page Phones, and it is good for ten minutes")


def _count(visit: Visit, name: str, host: str) -> None:
    rate = PAIR if name == "pair" else SESSION
    if not visit.shed.allowances.allows(name, host, rate):
        raise RefusalError(429, "too_many", f"too many tries: {_TRY_AGAIN}")


async def session_begin(visit: Visit) -> Response:
    """Give a nonce; who asks is not looked at yet."""
    _count(visit, "session", visit.host)
    fields = asked(await visit.request.body())
    text_of(fields, "device")
    return said({"nonce": visit.shed.phones.nonce()})


async def session(visit: Visit) -> Response:
    """Open a session for a phone that shows it holds its key."""
    _count(visit, "session", visit.host)
    fields = asked(await visit.request.body())
    device, nonce, proof = (text_of(fields, name) for name in ("device", "nonce", "proof"))
    told = {"device": device, "block": text_of(fields, "block"), "nonce": nonce}
    shed = visit.shed
    if not DEVICE.match(device):
        raise RefusalError(400, "bad_request", "a device is named such as p3-k7f2: bring both "
                                               "programs up to date")
    if not shed.phones.use(nonce):
        # Used, too old, or of before a restart: no fault of the phone's pairing.
        raise RefusalError(401, "expired", "the shed did not give that nonce: begin again")
    mine, held = await run_in_threadpool(_let_in, shed, told, proof)
    token = shed.phones.open(device, mine.phone, mine.since)
    shown = proof_of(mine.key, {"who": "shed", "device": device, "nonce": nonce})
    return said({"token": token, "held": held, "proof": shown})


def _let_in(
    shed: Shed, told: dict[str, str], proof: str
) -> tuple[PairedPhone, list[list[int]]]:
    """Find the pairing of who asks, and the numbers held of it."""
    if told["block"] != load_block(shed.folder)[0].block_id:
        raise RefusalError(403, "other_block", "this shed is another block's: hand over at your "
                                               "own, or carry a file there")
    mine = _pairing_of(shed, told["device"], {"who": "phone", **told}, proof)
    return mine, _held(shed, told["device"])


def _pairing_of(shed: Shed, device: str, told: dict[str, str], proof: str) -> PairedPhone:
    """Find the pairing whose key made a proof; at its first session it is bound to the device."""
    own = [one for one in load_phones(shed.folder) if one.phone == device.partition("-")[0]]
    fitting = [one for one in own if secrets.compare_digest(
        proof_of(one.key, told).encode(), proof.encode("utf-8", "replace"))]
    if not fitting:
        raise RefusalError(403, "unknown", "this phone is not paired here: pair it by a new code "
                                           "on the page Phones; nothing is lost")
    mine = fitting[-1]
    if mine.device is None:
        mine = _bound(shed, mine, device)
    if mine.standing == "revoked":
        raise _revoked()
    if mine.device != device:
        raise RefusalError(403, "not_paired", "the app was installed again, or one pairing was "
                           "used twice: pair this phone by a new code; nothing is lost")
    return mine


def _bound(shed: Shed, mine: PairedPhone, device: str) -> PairedPhone:
    """Bind a pairing to a device, and give it as it stands then: another may have been first."""
    with shed.taking:
        bind(shed.folder, mine, device)
        return next((one for one in load_phones(shed.folder)
                     if (one.phone, one.since) == (mine.phone, mine.since)), mine)


def _revoked() -> RefusalError:
    return RefusalError(403, "revoked", "the owner has revoked this phone: nothing of it is "
                                        "taken; ask the owner")


def _held(shed: Shed, device: str) -> list[list[int]]:
    with ShedJournal(shed.folder) as journal:
        return [list(span) for span in journal.numbers_of(device)]


def _standing(shed: Shed, session: PhoneSession) -> str:
    """Give a pairing's standing as it is now; a revoked one is refused."""
    standing = next((one.standing for one in load_phones(shed.folder)
                     if (one.phone, one.since) == (session.phone, session.since)), "revoked")
    if standing == "revoked":
        raise _revoked()
    return standing


def _session(visit: Visit) -> PhoneSession:
    if visit.phone is None:
        raise RefusalError(401, "expired", "the session has ended: begin a new one")
    return visit.phone


async def upload_begin(visit: Visit) -> Response:
    """Say how much of an upload is here already."""
    session = _session(visit)
    fields = asked(await visit.request.body())
    size = fields.get("size")
    if not isinstance(size, int) or isinstance(size, bool):
        raise RefusalError(400, "bad_request", "size is missing or no whole number")
    upload = Upload(session.device, text_of(fields, "sha256"), size)
    _standing(visit.shed, session)
    try:
        have = await run_in_threadpool(begin_upload, visit.shed.folder, upload)
    except IntakeError as wrong:
        status, code = (413, "too_large") if size > 0 else (400, "bad_request")
        raise RefusalError(status, code, str(wrong)) from None
    return said({"have": have})


async def upload_part(visit: Visit) -> Response:
    """Take a part; with the last one the whole hand-over is taken in."""
    session = _session(visit)
    _standing(visit.shed, session)
    upload = known_upload(visit.shed.folder, session.device, visit.request.path_params["sha256"])
    start = visit.request.headers.get("x-from", "")
    if upload is None or not start.isdecimal() or len(start) > 12:
        raise RefusalError(409, "not_so", "begin the upload first", have=0)
    part, cut = await _part(visit)
    try:
        have = await run_in_threadpool(add_part, visit.shed.folder, upload, int(start), part)
        if cut:
            raise ClientDisconnect
        if have < upload.size:
            return said({"have": have})
        return said(await run_in_threadpool(_take, visit.shed, upload))
    except OffsetError as wrong:
        raise RefusalError(409, "not_so", str(wrong), have=wrong.have) from None


async def _part(visit: Visit) -> tuple[bytes, bool]:
    """Read a part to its end or to where the phone vanished; what came before counts."""
    came = bytearray()
    try:
        async for chunk in visit.request.stream():
            came += chunk
    except ClientDisconnect:
        return bytes(came), True
    return bytes(came), False


def _take(shed: Shed, upload: Upload) -> dict[str, object]:
    """Take a whole hand-over in and answer what of it is on disk."""
    block, _ = load_block(shed.folder)  # broken, it costs no upload
    with shed.taking:
        path = finish_upload(shed.folder, upload)
        try:
            taken: FileTaken = take_files(
                shed.folder, block, [path], Options(), now=shed.clocks.now())[0]
        finally:
            path.unlink(missing_ok=True)
    if taken.refused is not None:
        raise RefusalError(422, "unreadable", taken.refused)
    shed.rebuilder.ask()
    return {
        "have": upload.size,
        "taken": {"new": taken.new, "known": taken.known, "aside": len(taken.aside)},
        "held": _held(shed, upload.device),
    }


async def sheet(visit: Visit) -> Response:
    """Give the phone its new ground sheet, made of all that was taken before it asked."""
    session, shed = _session(visit), visit.shed
    if _standing(shed, session) != "paired":
        raise RefusalError(403, "not_paired", "this phone was paired anew under another key: its "
                                              "records are taken, a sheet is for the new one")
    view = shed.rebuilder.view()
    if view is None or await run_in_threadpool(shed.rebuilder.is_old, view):
        await _until_built(shed)
    content = await run_in_threadpool(_sheet, shed, session)
    return Response(content, media_type="application/zip")


async def _until_built(shed: Shed) -> None:
    """Wait for a new register without a thread: those are few, and hand-overs need them."""
    asked = shed.rebuilder.ask()
    for _ in range(round(_SHEET_WAIT_S / _LOOK_S)):
        if shed.rebuilder.is_done(asked):
            return
        await asyncio.sleep(_LOOK_S)


def _sheet(shed: Shed, session: PhoneSession) -> bytes:
    view = shed.rebuilder.view()
    if view is None:
        wrong = shed.rebuilder.state().wrong or "its register is not built yet"
        raise RefusalError(503, "busy", f"the shed has no sheet now: {wrong}; {_TRY_AGAIN}")
    return sheet_file(shed.folder, view.register, view.document, session.phone,
                      now=shed.clocks.now())
