"""Where the page listens, and by which addresses it may be asked for."""

from __future__ import annotations

import contextlib
import ipaddress
import socket
from dataclasses import dataclass
from pathlib import Path

from fitcheck.ground.refusal import WrongCall

PORT = 8714
#: An address of the documentation's network (RFC 5737): asking which way leads there sends nothing.
_ANYWHERE = ("192.0.2.1", 9)


@dataclass(frozen=True)
class Doors:
    """``here`` is the page's address on this computer, ``lan`` on the shop's network (None without); both with scheme.

    ``hosts`` are the values of the header ``Host`` that are answered, each with its port.
    """

    here: str
    lan: str | None
    hosts: frozenset[str]
    port: int = PORT
    tls: tuple[Path, Path] | None = None

    @property
    def secure(self) -> bool:
        """Whether the page is served over TLS."""
        return self.tls is not None


def opened(port: int, *, lan: bool) -> socket.socket:
    """A socket that listens on this computer alone, or with ``lan`` on its networks too; port 0 takes a free one.

    Raises :class:`WrongCall` where the port cannot be had.
    """
    door = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        door.bind(("0.0.0.0" if lan else "127.0.0.1", port))
    except (OSError, OverflowError) as error:
        door.close()
        why = getattr(error, "strerror", None) or error
        raise WrongCall(
            f"cannot listen on port {port} ({why}): is the page running already? Else give --port"
        ) from error
    door.listen(128)
    door.set_inheritable(False)
    return door


def doors_of(port: int, *, lan: bool, address: str | None = None, tls: tuple[Path, Path] | None = None) -> Doors:
    """The addresses of a page that listens on ``port``; ``address`` names this computer on the shop's network.

    Raises :class:`WrongCall` where it is to be on the network and no address of it is found.
    """
    scheme = "https" if tls else "http"
    names = ["127.0.0.1", "localhost"]
    if address is not None:
        names.append(_checked(address))
    elif lan:
        names += own_addresses()
        if len(names) == 2:
            raise WrongCall("this computer has no address on a network: join one, or give its address with --address")
        names.append(f"{socket.gethostname().split('.')[0].lower()}.local")
    usual = 443 if tls else 80
    hosts = {f"{name}:{port}" for name in names} | ({*names} if port == usual else set())
    on_lan = f"{scheme}://{names[2]}:{port}" if lan else None
    return Doors(f"{scheme}://127.0.0.1:{port}", on_lan, frozenset(hosts), port, tls)


def own_addresses() -> list[str]:
    """This computer's addresses on its networks (IPv4), the one that leads out first."""
    found: list[str] = []
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        way.connect(_ANYWHERE)
        found.append(way.getsockname()[0])
    with contextlib.suppress(OSError):
        found += [str(one[4][0]) for one in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
    there = [one for one in dict.fromkeys(found) if not ipaddress.ip_address(one).is_loopback]
    return [one for one in there if not ipaddress.ip_address(one).is_unspecified]


def _checked(address: str) -> str:
    """An address or a name as it stands in the header ``Host``. Raises :class:`WrongCall` for anything else.

    >>> _checked("Shop.local")
    'shop.local'
    """
    name = address.strip().lower()
    letters = set("abcdefghijklmnopqrstuvwxyz0123456789.-")
    if not name or len(name) > 253 or set(name) - letters:
        raise WrongCall(f"--address {address!r}: give this computer's address or name alone, as 192.168.1.20")
    return name
