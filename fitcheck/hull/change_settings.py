"""Settings of a hull changed in its file, whose other lines and comments stay as they are."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from pathlib import Path

from fitcheck.ground.files import read_text, write_text
from fitcheck.ground.refusal import WrongCall
from fitcheck.hull.settings_file import load_hull

#: A setting's place: the table it stands in ("" for the top; "strakes 4" for the block of strake 4) and its key.
Key = tuple[str, str]

_HEADER = re.compile(r"\s*(\[\[?)\s*([A-Za-z0-9_.-]+)\s*\]\]?\s*(?:#.*)?$")
#: A value that stands on one line, and the comment behind it.
_SETTING = r'(\s*)(?:#\s*)?{key}\s*=\s*("(?:[^"\\]|\\.)*"|\'[^\']*\'|[^\s#"\'\[{{]+)(\s*#.*)?\s*'


def change_settings(path: Path, values: Mapping[Key, str | int | None]) -> None:
    """Give each setting its value, text or a whole number; None takes it out, so that the usual one holds.

    A line that holds the setting, or shows it as a comment, is changed; where none does, one is put under its table's
    header, and a table that is not there to the end. Raises :class:`WrongCall`, and leaves the file as it was, where it
    cannot be read, a setting is written over several lines, or the hull could not be used then.
    """
    load_hull(path)
    before = read_text(path, "a settings file")
    lines = before.splitlines()
    for (table, key), value in values.items():
        lines = _changed(lines, table, key, value)
    written = "\n".join(lines) + "\n"
    if written == before:
        return
    write_if_usable(path, before, written)


def write_if_usable(path: Path, before: str, written: str) -> None:
    """Write a settings file; raises :class:`WrongCall`, with what was there ``before`` put back, if it is no good."""
    write_text(path, written)
    try:
        load_hull(path)
    except WrongCall:
        write_text(path, before)
        raise


def _changed(lines: Sequence[str], table: str, key: str, value: str | int | None) -> list[str]:
    start, end = _table(lines, table)
    if start is None:
        return [*lines] if value is None else [*lines, "", f"[{table}]", f"{key} = {_written(value)}"]
    own = re.compile(_SETTING.format(key=re.escape(key)))
    found = [at for at in range(start, end) if own.fullmatch(lines[at])]
    in_force = [at for at in found if not lines[at].lstrip().startswith("#")]
    if not in_force and any(re.match(rf"\s*{re.escape(key)}\s*=", lines[at]) for at in range(start, end)):
        raise WrongCall(f"{key} is written in a way that this cannot change: edit fitcheck.toml itself")
    at = next(iter(in_force or found), None)
    if value is None:
        return [line for number, line in enumerate(lines) if number not in in_force]
    if at is None:
        return [*lines[:start], f"{key} = {_written(value)}", *lines[start:]]
    match = own.fullmatch(lines[at])
    comment = (match[3] or "") if match else ""
    return [*lines[:at], f"{key} = {_written(value)}{comment}", *lines[at + 1 :]]


def _table(lines: Sequence[str], table: str) -> tuple[int | None, int]:
    """From where to where the lines of a table stand, its header left out; None where it is not there."""
    name, _, number = table.partition(" ")
    heads = [(at, match[2]) for at, line in enumerate(lines) if (match := _HEADER.match(line))]
    ends = [at for at, _ in heads[1:]] + [len(lines)]
    if not table:
        return 0, heads[0][0] if heads else len(lines)
    for (at, found), end in zip(heads, ends, strict=False):
        if found != name:
            continue
        if not number or any(re.fullmatch(rf"\s*number\s*=\s*{number}\s*(?:#.*)?", line) for line in lines[at:end]):
            return at + 1, end
    return None, 0


def _written(value: str | int) -> str:
    """A value as TOML writes it; JSON's escapes are TOML's, but for the delete sign.

    >>> _written("1/2in"), _written(32)
    ('"1/2in"', '32')
    """
    return str(value) if isinstance(value, int) else json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
