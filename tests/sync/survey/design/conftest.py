"""The published samples as strata and cells."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from sync.survey.design.stratified import Stratum
from sync.survey.design.two_stage import Cluster

PUBLISHED = Path(__file__).parents[3] / "published"


@pytest.fixture(scope="session")
def design():
    with (PUBLISHED / "design.toml").open("rb") as file:
        return tomllib.load(file)


def by(rows, column):
    """Part rows by a column, in the order of its values."""
    return {name: [r for r in rows if r[column] == name]
            for name in sorted({r[column] for r in rows})}


def column(rows, name):
    return np.array([float(r[name]) for r in rows])


@pytest.fixture(scope="session")
def schools(rows):
    """Strata of schools: `schools("api00")`; the stored weight is N_h/n_h in single precision."""
    parted = by(rows("apistrat.csv"), "stype")

    def strata(name, *, exact=False, corrected=True):
        return [
            Stratum(key, float(mine[0]["fpc"]) if exact else float(mine[0]["pw"]) * len(mine),
                    column(mine, name), corrected)
            for key, mine in parted.items()]
    strata.rows = parted
    return strata


@pytest.fixture(scope="session")
def units(rows):
    parted = by(rows("fpc.csv"), "stratid")

    def strata(*, corrected=True):
        return [Stratum(key, float(mine[0]["Nh"]), column(mine, "x"), corrected)
                for key, mine in parted.items()]
    return strata


@pytest.fixture(scope="session")
def soil(rows):
    parted = by(rows("voorst_stsi.csv"), "stratum")

    def strata(*, corrected=True):
        return [Stratum(key, float(mine[0]["Nh"]), column(mine, "z"), corrected)
                for key, mine in parted.items()]
    return strata


@pytest.fixture(scope="session")
def districts(rows):
    parted = by(rows("apiclus2.csv"), "dnum")

    return [Cluster(key, float(mine[0]["fpc2"]), column(mine, "api00"))
            for key, mine in parted.items()]


@pytest.fixture(scope="session")
def close():
    """To 1e-6 of the value, or half of the last printed digit where that is coarser."""
    def agree(value, printed):
        half = 0.5 * 10.0 ** -len(printed.partition(".")[2])
        return abs(value - float(printed)) <= max(1e-6 * abs(float(printed)), 1.0001 * half)
    return agree
