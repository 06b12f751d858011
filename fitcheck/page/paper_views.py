"""What is printed at the laptop, and the copy of the record."""

from __future__ import annotations

from starlette.responses import HTMLResponse, Response

from fitcheck.page.asked import Ask, then

#: A sheet of the report carries its own style and its pictures, and nothing that runs.
SHEET_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'; base-uri 'none'; "
    "form-action 'none'; sandbox"
)


def history(ask: Ask) -> Response:
    """The history of one plank, as a sheet to print."""
    from fitcheck.report.record.history_page import plank_history

    hull = ask.shop.hull()
    return _sheet(plank_history(hull, ask.plank(hull)))


def sheet(ask: Ask) -> Response:
    """The sheet of the hull: every strake on both sides, by where it stands."""
    from fitcheck.fitlog.listing import standings_at
    from fitcheck.report.record.hull_page import hull_html

    hull = ask.shop.hull()
    return _sheet(hull_html(hull, standings_at(hull)))


def backup(ask: Ask) -> Response:
    """A checked copy of the record, beside it."""
    from fitcheck.fitlog.backup import copy_checked
    from fitcheck.fitlog.store import reading

    with reading(ask.shop.db_path):
        copy_checked(ask.shop.db_path)
    return then("/", done="backup")


def _sheet(text: str) -> Response:
    return HTMLResponse(text, headers={"content-security-policy": SHEET_POLICY})
