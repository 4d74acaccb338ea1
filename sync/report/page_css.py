"""The style sheet of the report: on a screen, and on A4 in grey.

Rule 1: every rule hangs under `.report` or `.report-page`, so that a page that takes the report in
keeps its own looks.
Rule 2: nothing on paper depends on colour or on printed backgrounds.
Rule 3: what people typed comes into a style sheet only as an escaped string.
"""

import re

REPORT_CSS = """
.report-page { font: 1rem/1.45 system-ui, sans-serif; color: #000; background: #fff;
  max-width: 62rem; margin: 1rem auto; padding: 0 1rem; }
.report-page h1 { font-size: 1.5rem; margin-bottom: .3rem; }
.report h2 { font-size: 1.2rem; margin: 1.6rem 0 .4rem; }
.report h3 { font-size: 1rem; margin: 0 0 .2rem; }
.report p { margin: .4rem 0; }
.report a { color: #004C80; }
.report .wide { overflow-x: auto; }
.report table { border-collapse: collapse; width: 100%; font-size: .9rem; }
.report th, .report td { border-bottom: 1px solid #888; padding: .2rem .45rem; text-align: left;
  vertical-align: top; }
.report thead th { border-bottom: 2px solid #000; }
.report .n { text-align: right; white-space: nowrap; }
.report td.long { min-width: 18rem; }
.report table.cells td, .report table.cells tbody th { white-space: nowrap; }
.report dl { display: grid; grid-template-columns: max-content 1fr; gap: .15rem 1rem; margin: 0; }
.report dt { font-weight: 600; } .report dd { margin: 0; }
.report .key { list-style: none; margin: .6rem 0; padding: 0; display: flex; flex-wrap: wrap;
  gap: .3rem 1.4rem; }
.report .key b { padding-left: .3rem; }
.report .flag { border: 1px solid #595959; border-left-width: 5px; padding: .5rem .7rem;
  margin: .6rem 0; }
.report .flag.ruled { border-left-width: 1px; }
.report .said { color: #404040; overflow-wrap: anywhere; }
.report tr:target, .report tr:target th { outline: 3px solid #000; }
@media screen { .report .figure .map:not(.swatch) { min-width: 36rem; } }
@media (max-width: 30rem) { .report dl { grid-template-columns: 1fr; } }
@media print {
  @page { size: A4; margin: 14mm 12mm 18mm; font: 8pt system-ui, sans-serif;
    @bottom-right { content: counter(page) " / " counter(pages); } }
  .report-page { max-width: none; margin: 0; padding: 0; font-size: 9.5pt; }
  .report .wide { overflow: visible; }
  .report table { font-size: 8pt; } .report table.cells { font-size: 7.5pt; }
  .report th, .report td { padding: .1rem .25rem; } .report thead th.n { white-space: normal; }
  .report td.long { min-width: 55mm; }
  .report thead { display: table-header-group; }
  .report tr, .report .flag, .report .figure, .report dl { break-inside: avoid; }
  .report h2, .report h3 { break-after: avoid; }
  .report a { color: #000; text-decoration: none; }
  .report .figure .map { max-width: 100%; max-height: 205mm; margin: 0 auto; }
  .report .figure .swatch { margin: 0; }
}
"""
_PLAIN = re.compile(r"[A-Za-z0-9 ]")


def css_string(text: str) -> str:
    """Write a text as a string of a style sheet.

    Parameters
    ----------
    text : str
        Of any characters.

    Returns
    -------
    str
        In quotes; all but plain letters, figures and blanks as their code, so that it ends neither
        the string nor the style sheet nor the element it stands in.

    References
    ----------
    .. [1] W3C, *CSS Syntax Module Level 3*, 2021, section 2.1, "Escaping".
    """
    return '"' + "".join(
        one if _PLAIN.fullmatch(one) else f"\\{ord(one) or 0xFFFD:x} " for one in text) + '"'


def foot_css(left: str, middle: str) -> str:
    """Write what stands at the foot of each page beside its number: margin boxes of CSS."""
    return (f"@media print {{ @page {{ @bottom-left {{ content: {css_string(left)}; }} "
            f"@bottom-center {{ content: {css_string(middle)}; }} }} }}\n")
