"""A flag put before the owner on one page: the same words on a terminal and on paper."""

from sync.report.flag_case.page import CASE_CSS, case_body, case_page
from sync.report.flag_case.text import case_text
from sync.report.flag_case.told import Folio, folio_of

__all__ = ["CASE_CSS", "Folio", "case_body", "case_page", "case_text", "folio_of"]
