"""An address as a QR code (ISO/IEC 18004), for the terminal and for a page."""

from __future__ import annotations

import io


def qr_lines(address: str) -> list[str]:
    """The code in lines of half blocks, light on dark, for a terminal."""
    import segno

    text = io.StringIO()
    segno.make(address, error="m", micro=False).terminal(out=text, border=2, compact=True)
    return text.getvalue().rstrip("\n").split("\n")


def qr_svg(address: str) -> str:
    """The code as an address that carries the picture (SVG), dark on light."""
    import segno

    return str(segno.make(address, error="m", micro=False).svg_data_uri(scale=8, border=4, dark="#000", light="#fff"))
