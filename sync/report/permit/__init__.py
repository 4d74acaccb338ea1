"""The return to the authority: as a document, as text, and as a page of A4."""

from sync.report.permit.document import figures_sum, returns_json
from sync.report.permit.made import Made, return_in, returns_of
from sync.report.permit.page import RETURN_CSS, return_body, return_page
from sync.report.permit.text import return_text

__all__ = ["RETURN_CSS", "Made", "figures_sum", "return_body", "return_in", "return_page",
           "return_text", "returns_json", "returns_of"]
