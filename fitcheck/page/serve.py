"""The page served: the door opened, what to open it with said, and requests answered until it is stopped."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.ground.refusal import WrongCall
from fitcheck.page.doors import Doors, doors_of, opened
from fitcheck.page.keys import Keys, keys_in
from fitcheck.page.only_one import only_one
from fitcheck.page.shop import Shop, folder_of

if TYPE_CHECKING:
    import uvicorn

#: More are answered in turn: a shop has a handful of phones.
MOST_AT_ONCE = 64
PLAIN = (
    "It is plain HTTP: whoever is on the same network can read along, and the key with it. "
    "Use a network of your own, or give --tls CERT KEY."
)


def serve(
    hull_path: Path,
    *,
    port: int,
    lan: bool = False,
    address: str | None = None,
    tls: tuple[Path, Path] | None = None,
    forget: bool = False,
    processes: int = 1,
    say: Callable[[str], None] = print,
) -> None:
    """Serve the page of the hull with the settings ``hull_path`` until it is stopped; ``say`` tells how to open it.

    Raises :class:`WrongCall` where the port, the certificate or the page's folder cannot be used.
    """
    from fitcheck.hull.settings_file import load_hull

    load_hull(hull_path)
    if tls is not None:
        _need_pair(*tls)
    door = opened(port, lan=lan)
    with door:
        doors = doors_of(door.getsockname()[1], lan=lan, address=address, tls=tls)
        keys = keys_in(folder_of(hull_path), forget=forget)
        server = _server(Shop(hull_path, keys, doors), processes)
        with suppress(KeyboardInterrupt), only_one(folder_of(hull_path)):  # a stop by Ctrl-C is how it is meant to end
            for line in opening_lines(doors, keys):
                say(line)
            server.run(sockets=[door])


def opening_lines(doors: Doors, keys: Keys) -> list[str]:
    """How to open the page, here and with a phone."""
    lines = [f"The page, at this computer: {doors.here}/enter?key={keys.key}"]
    if doors.lan is None:
        lines.append("It is served to this computer alone; start it with --lan to let a phone in.")
    else:
        from fitcheck.page.qr import qr_lines

        address = f"{doors.lan}/enter?key={keys.key}"
        lines += ["With a phone on the same network, scan this:", "", *qr_lines(address), "", address]
        lines += [] if doors.secure else [PLAIN]
    return [*lines, "Ctrl-C stops it; nothing is lost by that."]


def _server(shop: Shop, processes: int) -> uvicorn.Server:
    import uvicorn

    from fitcheck.page.job_line import Line
    from fitcheck.page.site import site

    cert, key = shop.doors.tls or (None, None)
    return uvicorn.Server(
        uvicorn.Config(
            site(shop, Line(shop.hull_path, processes=processes)),
            http="h11",
            ws="none",
            loop="asyncio",
            lifespan="on",
            log_level="error",
            access_log=False,
            server_header=False,
            proxy_headers=False,
            limit_concurrency=MOST_AT_ONCE,
            timeout_keep_alive=10,
            timeout_graceful_shutdown=2,
            ssl_certfile=cert,
            ssl_keyfile=key,
        )
    )


def _need_pair(cert: Path, key: Path) -> None:
    """Raise :class:`WrongCall` where these are no certificate and its key."""
    import ssl

    from fitcheck.ground.files import need_file

    need_file(cert, "the certificate")
    need_file(key, "the key")
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(cert, key, password=lambda: "")
    except (OSError, ValueError) as error:
        raise WrongCall(f"--tls {cert} {key}: no certificate and its key without a password ({error})") from error
