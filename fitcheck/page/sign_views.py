"""Signing a plank off: what is still missing, place by place, and the builder's signature."""

from __future__ import annotations

from starlette.responses import Response

from fitcheck.ground.refusal import WrongCall
from fitcheck.page.asked import Ask, then


def signing(ask: Ask) -> Response:
    """What keeps a plank from being signed off, or that nothing does."""
    from fitcheck.fitlog import queries
    from fitcheck.fitlog.signing import missing
    from fitcheck.fitlog.store import is_begun, reading

    hull = ask.shop.hull()
    plank = ask.plank(hull)
    if not is_begun(hull.db_path):
        raise WrongCall(f"no fit of plank {plank} is recorded")
    with reading(hull.db_path) as connection:
        fit = queries.fit(connection, plank)
        reasons = missing(connection, plank, hull)
        signed = [one for one in queries.signoffs(connection, plank) if one.opened_at is None]
    return ask.page(
        "sign.html",
        hull=hull.name,
        plank=str(plank),
        fit=fit.number,
        missing=[reason.text for reason in reasons],
        signed_by=signed[-1].who if signed else "",
    )


def sign(ask: Ask) -> Response:
    """Sign the latest fit; against what is missing only with the reason in writing."""
    from fitcheck.fitlog.signing import sign as signed

    hull = ask.shop.hull()
    plank = ask.plank(hull)
    if ask.told.get("sure") != "yes":
        raise WrongCall("tick that you sign it, with your name")
    signed(hull.db_path, plank, hull, who=ask.named(), overrule=ask.text("overrule") or None)
    return then("/plank", plank=str(plank), done="signed")
