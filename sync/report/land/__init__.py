"""One side of paper for a landowner or a council: what the block yields and how it is kept."""

from sync.report.land.money import Rates
from sync.report.land.page import land_page

__all__ = ["Rates", "land_page"]
