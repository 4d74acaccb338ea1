"""`fallow demo`, `new`, `pair` and `ground`: the block folder and what goes to the phones."""

import json
import os
import secrets
from pathlib import Path
from typing import Annotated

import typer

from fieldapp.device.pairing import KEY_BYTES
from sync.block import Feature
from sync.cli.intake import Folder
from sync.cli.registers import built, show
from sync.cli.shown import now, progress_console, say
from sync.disk.create import NewBlock, create_block, refuse_unsaid
from sync.disk.folder import load_block
from sync.disk.keys import pair
from sync.disk.register_file import keep_register
from sync.disk.sheets import write_sheets
from sync.errors import DiskError, SettingsError
from sync.geometry.outline import features_of, outline_from_gpx, outline_of

_ID_LETTERS = "abcdefghijkmnpqrstuvwxyz23456789"


def demo(
    folder: Annotated[Path, typer.Argument(
        metavar="[DIR]", help="Where to make the block; it must not hold one."
    )] = Path("demo-block"),
    seed: Annotated[int, typer.Option(help="Another seed makes another swamp.")] = 417,
) -> None:
    """Make the made-up block through the real parts and show its register."""
    # Only this word needs the story, and it takes long to load.
    from sync.demo.story import make_demo

    with progress_console().status("making the demo block") as status:
        made = make_demo(folder, seed=seed, tell=status.update)
    found, flags, document = built(folder, made.on, None)
    keep_register(folder, document)
    show(document, flags, found)
    for line in made.lines:
        typer.echo(line)
    say(f"look closer: fallow register {folder} --on {found.on}, "
        f"fallow why {folder} C08 --on {found.on}")


def new(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The block folder to make.")],
    outline: Annotated[Path, typer.Option(
        help="GeoJSON, or a walked GPX whose ends meet within 50 m."
    )],
    rest_months: Annotated[int | None, typer.Option(help="Rest after a pick. Required.")] = None,
    recovery_years: Annotated[float | None, typer.Option(
        help="Years a normal pick takes to come back. Required."
    )] = None,
    living_layer_mm: Annotated[float | None, typer.Option(
        help="Strand that must stay. Required."
    )] = None,
    keep_pct: Annotated[float | None, typer.Option(
        help="Share of the pickable crop that stays. Required."
    )] = None,
    name: Annotated[str | None, typer.Option(help="What people call it.")] = None,
    zone: Annotated[str | None, typer.Option(help="Such as Pacific/Auckland.")] = None,
    epsg: Annotated[int | None, typer.Option(help="A projected system in metres.")] = None,
    origin: Annotated[str | None, typer.Option(
        metavar="E,N", help="South-west corner of the grid."
    )] = None,
    cell_m: Annotated[float, typer.Option(help="Side of a cell, 100 or 50.")] = 100.0,
    season_start: Annotated[str, typer.Option(metavar="MM-DD")] = "07-01",
    classes: Annotated[Path | None, typer.Option(help="GeoJSON with ground_class.")] = None,
    closures: Annotated[Path | None, typer.Option(help="GeoJSON with from, until, why.")] = None,
    bag_type: Annotated[str, typer.Option(help="The usual bag.")] = "sack",
    bag_kg: Annotated[float, typer.Option(help="Shed-dry kg in one, as you know it.")] = 7.0,
    bag_litres: Annotated[float | None, typer.Option(help="Its litres.")] = None,
) -> None:
    """Make a block folder. The rules of rest and share kept are yours to say."""
    made = NewBlock(
        name=name or folder.resolve().name,
        block_id="".join(secrets.choice(_ID_LETTERS) for _ in range(8)),
        outline=(), zone=zone or _zone_here(), rest_months=rest_months,
        recovery_years=recovery_years, living_layer_mm=living_layer_mm, keep_pct=keep_pct,
        epsg=epsg, origin=_origin(origin), cell_m=cell_m, season_start=season_start,
        bag_type=bag_type, bag_kg=bag_kg, bag_litres=bag_litres,
    )
    refuse_unsaid(made)
    with_maps = NewBlock(**{
        **made.__dict__,
        "outline": _outline(outline),
        "classes": _map(classes),
        "closures": _map(closures),
    })
    for line in create_block(folder, with_maps):
        say(f"by default: {line}")
    typer.echo(f"made {folder}: {with_maps.name}")


def _zone_here() -> str:
    """Give this machine's own time zone, UTC where it does not say."""
    said = os.environ.get("TZ", "").lstrip(":")
    if "/" in said:
        return said
    linked = str(Path("/etc/localtime").resolve())
    return linked.partition("zoneinfo/")[2] or "UTC"


def _origin(text: str | None) -> tuple[float, float] | None:
    if text is None:
        return None
    try:
        e, n = (float(part) for part in text.split(","))
    except ValueError:
        raise typer.BadParameter(f"--origin {text!r}: write E,N in metres") from None
    return e, n


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise SettingsError([f"{path.name}: is no UTF-8 text"]) from None
    except OSError as wrong:
        raise DiskError(f"{path}: {wrong.strerror}") from wrong


def _outline(path: Path) -> tuple[Feature, ...]:
    text = _text(path)
    if path.suffix.lower() == ".gpx":
        return outline_from_gpx(text)
    return outline_of(_json(path, text))


def _map(path: Path | None) -> tuple[Feature, ...]:
    if path is None:
        return ()
    return features_of(_json(path, _text(path)), what=path.name)


def _json(path: Path, text: str) -> object:
    try:
        return json.loads(text)
    except ValueError as wrong:
        raise SettingsError([f"{path.name}: not readable as JSON: {wrong}"]) from wrong


def pair_phone(
    folder: Folder,
    phone: Annotated[str, typer.Argument(help="Phone code, such as p3.")],
) -> None:
    """Pair a phone without the server: writes its key as a file to carry over."""
    block, _ = load_block(folder)
    path = pair(folder, block, phone, secrets.token_bytes(KEY_BYTES), now=now())
    typer.echo(str(path))
    say("carry this file to the phone, then delete it: whoever holds it can seal records")


def ground(
    folder: Folder,
    phone: Annotated[str | None, typer.Argument(help="Phone code; all paired ones.")] = None,
    out: Annotated[Path | None, typer.Option(help="Folder to write to.")] = None,
) -> None:
    """Write ground sheets for the phones, as files."""
    found, _, document = built(folder, None, None)
    for path in write_sheets(folder, found, document, phone, out or folder / "reports", now=now()):
        typer.echo(str(path))
