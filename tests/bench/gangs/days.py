"""What a season leaves behind: the records of surveyors, pickers and the drying floor.

An outing is seven hours with a fix every 5 s and 23 bags: lanes of 90 m, 3 m apart, beside those
of the outing before; each bag is carried 30 m off. The receiver's error lasts ten minutes. Tracks
are written as a phone writes them, a record a minute.
"""

import math
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np
from scipy.signal import lfilter

from fieldapp.record import stamp
from gangs.place import CELLS, FIRST_SEASON, PLOTS_A_CELL, corner_of, ground
from sync.settings import R68_PER_SIGMA

Floats = np.ndarray
Record = dict[str, Any]
PHONES = 10
OUTINGS_A_CELL, CELLS_A_SEASON, ROUND = 8, 37, 185
BAGS, FIX_S, A_RECORD = 23, 5, 12
FIXES = 5000
_BAG_S, _CARRY_S, _BAG_M, _LANE_M, _WIDE_M = 1000.0, 60.0, 15.0, 90.0, 3.0
_R68_M, _ERROR_LASTS_S = 5.0, 600.0
_E7 = 1e7


class Books:
    """The numbers of each phone."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng
        self._last: dict[str, int] = {}

    def note(self, device: str, kind: str, at: datetime, person: str, **fields: Any) -> Record:
        """Number a record."""
        self._last[device] = self._last.get(device, 0) + 1
        return {"device": device, "seq": self._last[device], "kind": kind, "at": stamp(at),
                "person": person, "where": None, **fields}


def device_of(phone: int) -> str:
    """Name a phone."""
    return f"p{phone + 1}-aaa{'abcdefghij'[phone]}"


def season_records(
    books: Books, season: int, outings: int, *, tracks: bool = True
) -> Iterator[list[Record]]:
    """Give the records of a season, outing by outing, what the surveyor read first.

    Parameters
    ----------
    books : Books
        Numbers and chance.
    season : int
        0 is the first.
    outings : int
        How many; eight are a cell.
    tracks : bool
        Whether the phones keep them.

    Yields
    ------
    list of dict
        In order of number by device.
    """
    cells = [CELLS[(season * CELLS_A_SEASON + i) % ROUND]
             for i in range(-(-outings // OUTINGS_A_CELL))]
    yield list(_surveyed(books, season, cells))
    for j in range(outings):
        turn = j % OUTINGS_A_CELL
        yield outing_records(
            books, season, cells[j // OUTINGS_A_CELL], turn, day=j // PHONES, phone=j % PHONES,
            last=turn == OUTINGS_A_CELL - 1, tracks=tracks)
    yield list(_dried(books, season, cells))


def _surveyed(books: Books, season: int, cells: list[str]) -> Iterator[Record]:
    for i, cell in enumerate(cells):
        at = datetime(FIRST_SEASON + season, 9, 1, 1, tzinfo=UTC) + timedelta(days=i)
        for plot in range(1, PLOTS_A_CELL + 1):
            rng = books.rng
            yield books.note(
                "p11-aaaa", "quadrat", at + timedelta(minutes=20 * plot), "SW",
                plot=f"{cell}-{plot}", when="survey", side_m=0.5,
                cover_pct=int(rng.integers(40, 90)),
                depth_mm=rng.integers(60, 140, 5).tolist())


def _dried(books: Books, season: int, cells: list[str]) -> Iterator[Record]:
    for i, cell in enumerate(cells):
        at = datetime(FIRST_SEASON + season + 1, 3, 1, 12, tzinfo=UTC) + timedelta(days=i)
        bags = OUTINGS_A_CELL * BAGS
        yield books.note(
            "shed", "batch", at, "F0", batch=f"L{season}-{i}", stage="dried", bags=bags,
            **{"from": [f"{cell}-{season}"]},
            dry_kg=round(float(bags * books.rng.normal(6.8, 0.3)), 1))


def outing_records(
    books: Books, season: int, cell: str, turn: int, *, day: int, phone: int, last: bool,
    tracks: bool = True,
) -> list[Record]:
    """Give the records of one outing.

    Parameters
    ----------
    books : Books
        Numbers and chance.
    season, day : int
        When; the gangs go out every third day from 1 November.
    cell, turn : str, int
        Where, and which of the outings to that cell.
    phone : int
        Whose.
    last : bool
        Whether the cell is finished by it.
    tracks : bool
        Whether its phone keeps one.
    """
    device, person = device_of(phone), f"P{phone}"
    start = datetime.combine(date(FIRST_SEASON + season, 11, 1) + timedelta(days=3 * day),
                             datetime.min.time(), UTC) + timedelta(hours=8)
    places = _walked(cell, turn) + _errors(books.rng)
    lat, lon = (np.asarray(one) for one in ground().to_deg(*places.T))
    found = [books.note(
        device, "outing", start, person, state="start", role="picker", cell=cell,
        sheet={"id": "s1", "made_at": stamp(start - timedelta(hours=12))})]
    filled = (_BAG_S + _CARRY_S) * np.arange(1, BAGS + 1) - _CARRY_S
    bag = 0
    for first in range(0, FIXES, A_RECORD):
        until = min(first + A_RECORD, FIXES)
        while bag < BAGS and filled[bag] < until * FIX_S:
            i = min(int(filled[bag]) // FIX_S, FIXES - 1)
            found.append(books.note(
                device, "bag", start + timedelta(seconds=float(filled[bag])), person, bags=1,
                pile=f"{cell}-{season}") | {"where": {
                    "lat": round(float(lat[i]), 7), "lon": round(float(lon[i]), 7),
                    "acc_m": _R68_M, "age_s": 1, "lag_s": 0.2}})
            bag += 1
        if tracks:
            found.append(books.note(
                device, "track", start + timedelta(seconds=until * FIX_S), person,
                **_track(start + timedelta(seconds=first * FIX_S), lat[first:until],
                         lon[first:until])))
    found.append(books.note(
        device, "outing", start + timedelta(seconds=FIXES * FIX_S + 60), person, state="end",
        finished=[cell] if last else []))
    return found


def _track(t0: datetime, lat: Floats, lon: Floats) -> Record:
    count = len(lat)
    return {
        "t0": stamp(t0), "dt_ms": [0] + [1000 * FIX_S] * (count - 1),
        "lat_e7": np.diff(np.rint(lat * _E7).astype(np.int64), prepend=0).tolist(),
        "lon_e7": np.diff(np.rint(lon * _E7).astype(np.int64), prepend=0).tolist(),
        "acc_m": [int(_R68_M)] * count, "lag_s": 0.2}


def _walked(cell: str, turn: int) -> Floats:
    """Give where the picker was at each fix of an outing. [m]."""
    at_s = FIX_S * np.arange(FIXES, dtype=float)
    bag, within_s = np.divmod(at_s, _BAG_S + _CARRY_S)
    way = _BAG_M * (bag + np.minimum(within_s / _BAG_S, 1.0))
    lane = np.floor(way / _LANE_M)
    far = way - lane * _LANE_M
    north = 5.0 + np.where(lane % 2 == 0, far, _LANE_M - far)
    east = 2.0 + _WIDE_M * (4 * turn + lane)
    carried = np.maximum(0.0, within_s - _BAG_S)
    off = np.minimum(carried, _CARRY_S - carried)
    places: Floats = corner_of(cell) + np.column_stack(
        (east, north - np.sign(north - 50.0) * off))
    return places


def _errors(rng: np.random.Generator) -> Floats:
    """Draw errors that last."""
    sigma_m = _R68_M / R68_PER_SIGMA
    keeps = math.exp(-FIX_S / _ERROR_LASTS_S)
    fresh = rng.normal(0.0, sigma_m * math.sqrt(1.0 - keeps**2), (FIXES, 2))
    fresh[0] = rng.normal(0.0, sigma_m, 2)
    return np.asarray(lfilter([1.0], [1.0, -keeps], fresh, axis=0))
