"""The command ``fitcheck page``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from fitcheck.page.doors import PORT


def page(
    lan: Annotated[bool, typer.Option("--lan", help="Let phones on this computer's network in, by a QR code.")] = False,
    port: Annotated[int, typer.Option(help="Where the page listens.", min=0, max=65535)] = PORT,
    address: Annotated[
        str | None,
        typer.Option(
            help="With --lan: this computer's address or name there, if not found by itself.", show_default=False
        ),
    ] = None,
    tls: Annotated[
        tuple[Path, Path] | None,
        typer.Option(
            help="Serve over TLS: a certificate and its key, PEM files.", show_default=False, metavar="CERT KEY"
        ),
    ] = None,
    forget: Annotated[bool, typer.Option("--forget", help="Let no phone in that was let in before.")] = False,
    processes: Annotated[
        int, typer.Option(help="How many sets of photographs are measured at once.", min=1, max=8)
    ] = 1,
    hull: Annotated[
        Path | None,
        typer.Option("--hull", help="The hull's fitcheck.toml, if not here or in a folder above.", show_default=False),
    ] = None,
) -> None:
    """Serve the hull's page, for a phone in the shop, until it is stopped."""
    from fitcheck.ground.refusal import WrongCall
    from fitcheck.hull.settings_file import hull_here, load_hull
    from fitcheck.page.serve import serve

    if address is not None and not lan:
        raise WrongCall("--address is this computer's on the network: give --lan too")
    found = hull_here() if hull is None else load_hull(hull)
    serve(found.path, port=port, lan=lan, address=address, tls=tls, forget=forget, processes=processes, say=typer.echo)


def page_alone() -> typer.Typer:
    """The command under its own name, without what the others need."""
    alone = typer.Typer(add_completion=False, pretty_exceptions_enable=False, rich_markup_mode=None)
    alone.command("page")(page)
    alone.callback()(lambda: None)
    return alone
