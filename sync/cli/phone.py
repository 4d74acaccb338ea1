"""`fallow field`: the phone app in a window, with a block's key and ground sheet if wanted."""

import secrets
from pathlib import Path
from typing import Annotated

import typer

from fieldapp.device.desk import PHONE, SIZE, UsageError, desk_of, where_to
from fieldapp.device.identity import Install
from fieldapp.device.pairing import KEY_BYTES
from fieldapp.device.phone_folder import PhoneFolder
from fieldapp.device.store import StoreError
from sync.block import Block
from sync.cli.registers import built
from sync.cli.rubbish import look_seldom
from sync.cli.shown import now, say
from sync.disk.folder import BLOCK_FILE, load_block
from sync.disk.keys import key_of_phone, load_phones, pair
from sync.disk.sheets import write_sheets
from sync.errors import DiskError, IntakeError

#: Codes that are given out here; by hand others can be.
_CODES = tuple(f"p{number}" for number in range(1, 100))


def field(
    phone: Annotated[Path, typer.Argument(
        metavar="PHONE", help="The phone's folder, made if missing."
    )] = PHONE,
    from_: Annotated[Path | None, typer.Option(
        "--from", metavar="DIR", help="A block folder: pair with it, fetch its ground sheet."
    )] = None,
    replay: Annotated[Path | None, typer.Option(
        metavar="FILE.gpx", help="Play a receiver's track again, from now on."
    )] = None,
    at: Annotated[str | None, typer.Option(
        metavar="LAT,LON", help="Lie still at a place."
    )] = None,
    size: Annotated[str, typer.Option(metavar="WxH", help="The window.")] = SIZE,
) -> None:
    """Open the phone app in a window; without --replay and --at it walks about by itself."""
    look_seldom(for_hours=True)
    # Only this word needs the phone's screens.
    from fieldapp.__main__ import NoWindowError, refuse_unseen, show

    try:
        desk = desk_of(phone, size=size, at=at, replay=replay)
        if (phone / BLOCK_FILE).exists():
            raise UsageError(f"{phone} is a block folder: say --from {phone}, and leave out "
                             "PHONE or name another folder")
        block = None if from_ is None else load_block(from_)[0]
        refuse_unseen()
        if from_ is not None and block is not None:
            bring(from_, block, PhoneFolder(phone))
        typer.echo(str(phone))
        say(where_to(phone, from_))
        show(desk)
    except UsageError as wrong:
        raise typer.BadParameter(str(wrong)) from wrong
    except (NoWindowError, StoreError) as wrong:
        raise DiskError(str(wrong)) from wrong


def bring(shed: Path, block: Block, folder: PhoneFolder) -> None:
    """Carry a block's key, if the phone has none, and its ground sheet of today to the phone.

    Parameters
    ----------
    shed : Path
        The block folder; nothing is paired unless its register can be built.
    block : Block
        Its block.
    folder : PhoneFolder
        The phone's; afterwards its install on this block is in use.

    Raises
    ------
    FallowError
        If the register cannot be built, or no code from p1 to p99 is free.
    StoreError, JournalError, OSError
        If a folder is damaged or out of reach.
    """
    register, _, document = built(shed, None, None)
    known = _paired(shed, block, folder)
    if known is None:
        code = _free_code(shed)
        key_file = pair(shed, block, code, secrets.token_bytes(KEY_BYTES), now=now())
        folder.bring(key_file.name, key_file.read_bytes())
        key_file.unlink()
    else:
        code = known.device.partition("-")[0]
        folder.use(known.device)
    for path in write_sheets(shed, register, document, code, shed / "reports", now=now()):
        folder.bring(path.name, path.read_bytes())
    for one in folder.take_in():
        if one.kind == "refused":
            say(f"{one.name}: refused: {one.why}")
    say(f"this phone is {folder.in_use().device} on {block.name}")


def _paired(shed: Path, block: Block, folder: PhoneFolder) -> Install | None:
    """Give the phone's last install on a block that still holds its key, if there is one."""
    mine = [one for one in folder.installs() if one.block == block.block_id and one.key is not None
            and one.key == key_of_phone(shed, one.device.partition("-")[0])]
    return mine[-1] if mine else None


def _free_code(shed: Path) -> str:
    given = {one.phone for one in load_phones(shed)}
    free = next((code for code in _CODES if code not in given), None)
    if free is None:
        raise IntakeError("p1 to p99 are all given; pair one by hand with `fallow pair`")
    return free
