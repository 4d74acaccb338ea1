"""What the story works with: folder, phones, ground, moss and chance."""

import dataclasses
import json
from collections.abc import Callable, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any

import numpy as np

from sync.block import Block
from sync.demo.moss import Moss
from sync.demo.phones import DemoPhone
from sync.disk.folder import load_block
from sync.disk.load import load_inputs, today_in
from sync.disk.sheets import write_sheets
from sync.disk.taking import FileTaken, Options, take_files
from sync.errors import IntakeError
from sync.flags.raised import flags_of
from sync.geometry.crs import Projection
from sync.geometry.ground import Ground
from sync.geometry.shapes import bounds_of, covers
from sync.register.build import Register, build
from sync.report.document import register_document


@dataclasses.dataclass
class World:
    """The made-up block while its story is told.

    Attributes
    ----------
    shelf : Path
        Hand-over files, forms and sheets.
    taken : list of FileTaken
        What came of each file.
    held_back : list of Path
        Files that were made and wait in a pocket.
    """

    folder: Path
    shelf: Path
    block: Block
    ground: Ground
    projection: Projection
    moss: Moss
    phones: dict[str, DemoPhone]
    rng: np.random.Generator
    tell: Callable[[str], None]
    taken: list[FileTaken] = dataclasses.field(default_factory=list)
    held_back: list[Path] = dataclasses.field(default_factory=list)
    forms: int = 0

    def take(self, paths: Sequence[Path | None], now: datetime) -> None:
        """Take files in at the shed; in this story none may be refused."""
        found = take_files(
            self.folder, self.block, [p for p in paths if p is not None], Options(), now=now
        )
        for one in found:
            if one.refused is not None or one.aside:
                raise IntakeError(f"{one.file}: {one.refused or one.aside}")
        self.taken += found

    def hand_over_all(self, now: datetime, *, late: str | None = None) -> None:
        """Let every phone hand over what is new.

        Parameters
        ----------
        now : datetime
            When, UTC.
        late : str, optional
            Phone code whose file stays in a pocket until the next time.
        """
        made = {code: phone.hand_over(now) for code, phone in self.phones.items()}
        pocket = made.pop(late, None) if late is not None else None
        self.take([*self.held_back, *made.values()], now)
        self.held_back = [] if pocket is None else [pocket]

    def form(
        self, kind: str, rows: Sequence[dict[str, Any]], now: datetime, *,
        called: str | None = None,
    ) -> None:
        """Fill in a form at the shed and take it in; the next number names it unless told."""
        self.forms += called is None
        name = called or f"demo{self.forms:02d}"
        columns = list(dict.fromkeys(key for row in rows for key in row))
        lines = [",".join(["form", "row", "kind", *columns])]
        for i, row in enumerate(rows, 1):
            cells = [str(row.get(key, "")) for key in columns]
            lines.append(",".join([name, str(i), kind, *cells]))
        path = self.shelf / f"{kind}-{name.removeprefix('demo')}.csv"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        self.take([path], now)

    def register(self, now: datetime, on: date | None = None) -> Register:
        """Build the register by what the shed holds."""
        inputs = load_inputs(self.folder)
        return build(inputs, on=on or today_in(self.block, now))

    def give_sheets(self, now: datetime, codes: Sequence[str]) -> Register:
        """Make ground sheets and put them on some phones; gives the register they were made of."""
        register = self.register(now)
        document = register_document(register, flags_of(register))
        paths = write_sheets(
            self.folder, register, document, None, self.shelf, now=now,
            new_id=lambda: self.rng.bytes(4).hex(),
        )
        for path in paths:
            code = path.name.partition(".")[0]
            if code in codes:
                self.phones[code].take_sheet(path)
        return register

    def keep_plots(self, draws: Sequence[dict[str, Any]]) -> None:
        """Write the draws of plots and read the block again."""
        content = json.dumps({"plots": 1, "draws": list(draws)}, indent=1)
        (self.folder / "plots.json").write_text(content + "\n", encoding="utf-8")
        self.block, _ = load_block(self.folder)

    def place_in(self, cell: str, margin_m: float) -> tuple[float, float]:
        """Draw a place on a cell's open ground, easting and northing [m].

        Parameters
        ----------
        cell : str
            Its name.
        margin_m : float
            Least distance from the sides of its square. [m]
        """
        shape = self.ground.cells[cell].open_shape
        west, south, east, north = bounds_of(shape)
        for _ in range(2000):
            e = float(self.rng.uniform(west + margin_m, max(west + margin_m, east - margin_m)))
            n = float(self.rng.uniform(south + margin_m, max(south + margin_m, north - margin_m)))
            if bool(covers(shape, np.array([e]), np.array([n]))[0]):
                return e, n
        raise IntakeError(f"{cell}: no open ground {margin_m} m from its sides")

    def fix_at(self, e: float, n: float, acc_m: float) -> tuple[float, float]:
        """Give what a receiver shows at a place: latitude and longitude with its error [deg]."""
        sigma = acc_m / 1.5096
        lat, lon = self.projection.to_deg(
            e + float(self.rng.normal(0.0, sigma)), n + float(self.rng.normal(0.0, sigma))
        )
        return float(lat), float(lon)
