"""The commands ``fitcheck print board`` and ``fitcheck calibrate``."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

from fitcheck.ground.refusal import WrongCall
from fitcheck.ground.streams import bare, json_line

CORNERS = "9x6"
PICTURES = (".png", ".jpg", ".jpeg", ".heic")


def print_board(
    out: Annotated[Path, typer.Option(help="The PDF to write.")] = Path("board.pdf"),
    corners: Annotated[str, typer.Option(help="Inner corners, where four squares meet.")] = CORNERS,
    square: Annotated[str, typer.Option(help="One square's side.")] = "25mm",
    paper: Annotated[str, typer.Option(help="Paper: a4 or letter.")] = "a4",
) -> None:
    """Write the calibration board as a true-size PDF."""
    from fitcheck.calibration.board import write_board
    from fitcheck.calibration.target import parse_board

    path = write_board(out, parse_board(corners, square), paper=paper)
    print(f"The board is in {path}. Print it at 100 %, check the bar with a rule, and tape it flat to glass.")


def calibrate(
    photos: Annotated[list[Path], typer.Argument(help="Photographs of the printed board.", show_default=False)],
    out: Annotated[Path, typer.Option(help="The camera file to write, as calib/NAME.json.", show_default=False)],
    corners: Annotated[str, typer.Option(help="Inner corners, where four squares meet.")] = CORNERS,
    square: Annotated[
        str, typer.Option(help="A square's side as measured; or both ways, the long way first: 25mm,25.1mm.")
    ] = "25mm",
    json_to: Annotated[
        str | None, typer.Option("--json", help="Write the answer as JSON to a file, or - for standard output.")
    ] = None,
) -> None:
    """Calibrate a camera from photographs of the printed board."""
    from fitcheck.calibration.calibration_lines import told
    from fitcheck.calibration.from_photos import calibrate as run
    from fitcheck.calibration.target import parse_board
    from fitcheck.calibration.write_camera import write_camera
    from fitcheck.ground.files import need_writable, write_json

    board = parse_board(corners, square)
    if out.suffix.lower() in PICTURES:
        raise WrongCall(f"--out {out} is the camera file, as calib/NAME.json; its picture is written beside it")
    need_writable(out)
    with _bar(len(photos)) as progress:
        calibration = run(photos, board=board, progress=progress)
    to = sys.stderr if json_to == "-" else sys.stdout
    print(told(calibration), end="", file=to)
    if calibration:
        print(f"Written: {', '.join(str(path) for path in write_camera(calibration, out))}", file=to)
    else:
        print("No camera file was written.", file=to)
    if json_to == "-":
        sys.stdout.write(json_line(calibration.as_json()))
    elif json_to is not None:
        write_json(json_to, calibration.as_json())
    if not calibration:
        raise typer.Exit(3)


@contextmanager
def _bar(total: int) -> Iterator[Callable[[int, int], None] | None]:
    """A progress bar on standard error, where that is a terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(file=bare(sys.stderr)), transient=True) as shown:
        task = shown.add_task("finding the board", total=total)
        yield lambda done, of: shown.update(task, completed=done, total=of)
