"""The command ``fitcheck demo``: an invented plank through its life, by the commands a builder types."""

from __future__ import annotations

import os
import shlex
import shutil
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Any

import typer

from fitcheck.ground.files import read_toml
from fitcheck.ground.refusal import Refused, WrongCall

SAMPLES = Path(__file__).resolve().parents[2] / "sample_images"
SETTINGS = "fitcheck.toml"


def demo(
    ctx: typer.Context,
    out: Annotated[Path, typer.Option(help="Folder for the demo's hull and reports.")] = Path("fitcheck-demo"),
    samples: Annotated[Path, typer.Option(help="Folder of the sample photographs.", show_default=False)] = SAMPLES,
) -> None:
    """Follow an invented plank from its first fit to the signature, on sample photographs, and write the reports."""
    steps, samples = _steps(samples), samples.resolve()
    folder = _begun(out, samples / "hull.toml")
    with _inside(folder):
        for step in steps:
            _run(step, samples, ctx.find_root().command.main)
    print(f"\nAll of it is in {folder}; open 4-port-history.html, and report.html in the folder of each fit.")


def _steps(samples: Path) -> list[dict[str, Any]]:
    path = samples / "demo.toml"
    if not path.is_file():
        raise WrongCall(
            f"the sample photographs are not here: there is no {path}; run the demo from a checkout, or give --samples"
        )
    return list(read_toml(path, "the demo's settings")["step"])


def _begun(out: Path, settings: Path) -> Path:
    """The demo's hull folder, begun afresh. What an earlier demo left goes; any other hull is left alone."""
    kept = out / SETTINGS
    if kept.exists() and kept.read_bytes() != settings.read_bytes():
        raise WrongCall(f"{out} holds another hull's settings: give the demo a folder of its own with --out")
    if kept.exists():
        shutil.rmtree(out)
    elif out.exists() and any(out.iterdir()):
        raise WrongCall(f"{out} is not empty and holds no demo: give the demo a folder of its own with --out")
    out.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(settings, kept)
    return out.resolve()


@contextmanager
def _inside(folder: Path) -> Iterator[None]:
    """Work in the folder, as a builder does in the hull's."""
    before = Path.cwd()
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)


def _run(step: Mapping[str, Any], samples: Path, command: Callable[..., Any]) -> None:
    """Tell one step, and run its words as the ``command`` line takes them."""
    if "say" in step:
        print(f"\n--- {step['say']} (invented)")
    print(f"$ fitcheck {step['run']}", flush=True)
    words = [word for told in shlex.split(step["run"]) for word in _photographs(told, samples)]
    try:
        status = int(command(args=words, standalone_mode=False, prog_name="fitcheck") or 0)
    except Refused as refused:
        print(f"fitcheck: {refused.reason.text}", file=sys.stderr)
        status = 3
    if status != step.get("status", 0):
        raise WrongCall(f"the demo stops: {step['run']} ended with status {status}")


def _photographs(told: str, samples: Path) -> list[str]:
    """A word of a command, as it is, or the sample photographs that it names."""
    if not told.endswith(".jpg"):
        return [told]
    return [str(path) for path in sorted(samples.glob(told))]
