"""How the pages that are files of their own are written: one environment for all their templates.

Rule 1: whatever people typed is escaped, and a name that a template does not get is an error.
"""

from jinja2 import Environment, StrictUndefined


def page_environment() -> Environment:
    """Give the environment of templates.

    Returns
    -------
    Environment
        Escaping, strict on missing names, without a line for a line that only holds a tag.
    """
    return Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, keep_trailing_newline=True)
