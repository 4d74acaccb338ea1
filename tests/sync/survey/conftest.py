"""Published figures and how near a result must come to them."""

import csv
import tomllib
from decimal import Decimal
from pathlib import Path

import pytest

PUBLISHED = Path(__file__).parents[2] / "published"


@pytest.fixture(scope="session")
def published():
    with (PUBLISHED / "survey.toml").open("rb") as file:
        return tomllib.load(file)


@pytest.fixture(scope="session")
def agrees():
    """Compare to half a unit of the last printed digit, plus what a double can hold."""

    def compare(value, printed):
        half = 0.5 * 10.0 ** Decimal(printed).as_tuple().exponent
        slack = half * (1.0 + 1e-6) + 1e-14 * abs(float(printed))
        return abs(value - float(printed)) <= slack

    return compare


@pytest.fixture(scope="session")
def cores():
    """The 70 cores, each a dict of the columns."""
    with (PUBLISHED / "mite_cores.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="session")
def models():
    """Published figures of the estimators that rest on a model or on two phases."""
    with (PUBLISHED / "models.toml").open("rb") as file:
        return tomllib.load(file)


@pytest.fixture(scope="session")
def rows():
    """Read a published table: each row a dict of the columns."""
    def read(name):
        with (PUBLISHED / name).open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    return read
