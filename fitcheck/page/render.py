"""Pages filled in from this room's templates, and the files they are drawn with."""

from __future__ import annotations

import hashlib
import re
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from jinja2 import Environment
    from starlette.responses import Response

HERE = Path(__file__).parent
STATIC = {
    "page.css": "text/css",
    "page.js": "text/javascript",
    "send.js": "text/javascript",
    "wait.js": "text/javascript",
    "viewer.js": "text/javascript",
    "point.js": "text/javascript",
}


def page(template: str, *, status: int = 200, **values: Any) -> Response:
    """A page; every value is escaped."""
    from starlette.responses import HTMLResponse

    return HTMLResponse(_environment().get_template(template).render(**values), status)


@cache
def static(name: str) -> bytes:
    """A file that pages are drawn with. Raises KeyError for any other name."""
    if name not in STATIC:
        raise KeyError(name)
    return (HERE / "static" / name).read_bytes()


def static_address(name: str) -> str:
    """The address of a file that pages are drawn with, which changes with its content."""
    return f"/static/{name}?{hashlib.sha256(static(name)).hexdigest()[:12]}"


@cache
def _environment() -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    from fitcheck.page.plain_words import on_page

    loader = FileSystemLoader(HERE / "templates")
    made = Environment(loader=loader, autoescape=True, trim_blocks=True, lstrip_blocks=True, undefined=StrictUndefined)
    made.globals |= {"static": static_address}
    made.filters |= {"on_page": on_page, "unbroken": unbroken}
    return made


def unbroken(text: str) -> str:
    """Lengths that a line never breaks within: ``13-1/2 in`` stays whole, and so does ``± 1/32``."""
    whole = re.sub(r"(?<=\d)-(?=\d+/)", "\u2011", text).replace("± ", "±\u00a0")
    return re.sub(r"(?<=\d) (?=(?:in|ft|mm)\b)", "\u00a0", whole)
