"""What `measure` and `gap` show: the work going on, the answer once it is on record, and what is on record."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck.cli.trouble import RECORDED
from fitcheck.ground.refusal import WrongCall
from fitcheck.ground.streams import json_line

if TYPE_CHECKING:
    from fitcheck.answering.on_record import Kept
    from fitcheck.answering.request import MeasurementRequest, Progress
    from fitcheck.fitlog.recording import Recorded


def measuring(request: MeasurementRequest) -> AbstractContextManager[Progress | None]:
    """A bar on standard error, where several photographs are worked through at a terminal."""
    from fitcheck.ground.progress import share_done

    return share_done("measuring") if len(request.photos) > 1 else nullcontext()


def recorded(fit: Recorded) -> None:
    """Keep in mind what went on record, for the line about whatever goes wrong after it."""
    RECORDED.append(f"fit {fit.number} of {fit.plank}")


def put_out(
    request: MeasurementRequest, as_json: Callable[[], dict[str, Any]], write: Callable[[], list[Path]]
) -> None:
    """Write the answer's JSON and its report where the request asks for them."""
    from fitcheck.ground.files import write_json

    to = request.output.json
    if to == "-":
        sys.stdout.write(json_line(as_json()))
    elif to is not None:
        write_json(to, as_json())
    if request.output.folder is not None:
        for path in write():
            print(f"wrote {path}", file=sys.stderr)


@contextmanager
def then_shown(kept: Kept) -> Iterator[None]:
    """The block shows and writes the answer; then it is said what is on record, whatever became of the output.

    What stops the output goes on to the one place that tells trouble, which says what is on record all the same. Raises
    :class:`WrongCall` where recording failed, and says where the output failed too.
    """
    try:
        yield
        sys.stdout.flush()
    except (WrongCall, OSError) as error:
        if kept.trouble is None:
            raise
        raise WrongCall(f"{kept.trouble}; and the answer was not written: {error}") from error
    finally:
        with suppress(OSError):
            for line in [*kept.recorded, *kept.notes]:
                print(line, file=sys.stderr)
    if kept.trouble is not None:
        raise kept.trouble
