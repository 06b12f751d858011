"""Make the tables of the documents from what they describe: python docs/make_tables.py, from an installed checkout.

The commands and their options come from the program's own --help, the flags and the codes of
refusals and warnings from the lists that the program uses.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import typer

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from fitcheck.cli.app import app  # noqa: E402
from fitcheck.contract.codes import REFUSALS, WARNINGS, Group  # noqa: E402
from fitcheck.contract.flags import FLAGS  # noqa: E402

README, COMMANDS = ROOT / "README.md", ROOT / "docs" / "commands.md"
BEGIN, END = "<!-- {} table: made by docs/make_tables.py -->", "<!-- end of table -->"
HEAD = """# Every command and option

Made by `python docs/make_tables.py` from the program's own `--help`. Lengths are written with their unit: `12.7mm`,
`1/2in`, `1-3/8in`, `1 3/16 in`, `3ft 6-1/2in`, `0.5"`, or `1-2-3` (feet-inches-eighths).
Exit status: 0 measured; 2 a wrong call; 3 refused, with the reason.
"""


def commands() -> Iterator[tuple[str, Any]]:
    """Every command by its full name, in the order of ``fitcheck --help``."""

    def walk(name: str, command: Any) -> Iterator[tuple[str, Any]]:
        inner = getattr(command, "commands", None)
        if inner is None:
            yield name, command
            return
        for part in inner:
            yield from walk(f"{name} {part}", inner[part])

    return walk("fitcheck", typer.main.get_command(app))


def commands_table() -> str:
    """A row a command: what it is for."""
    rows = [f"| `{name}` | {_said(command.help)} |" for name, command in commands()]
    return "\n".join(["| command | what it does |", "|---|---|", *rows])


def flags_table() -> str:
    """A row a flag: what it says of a place."""
    return "\n".join(
        ["| flag | what it says |", "|---|---|", *(f"| `{flag}` | {text} |" for flag, text in FLAGS.items())]
    )


def codes_table(groups: tuple[Group, ...]) -> str:
    """A row a group of codes: what it asks for."""
    rows = (f"| {', '.join(f'`{code}`' for code in group.codes)} | {group.asks} |" for group in groups)
    return "\n".join(["| codes | what it asks for |", "|---|---|", *rows])


def commands_page() -> str:
    """Every command with its arguments and options."""
    parts = [HEAD]
    for name, command in commands():
        rows = [f"| {_spelled(one)} | {_explained(one)} |" for one in command.params if one.name != "help"]
        table = ["", "| option | meaning |", "|---|---|", *rows] if rows else []
        parts.append("\n".join([f"## `{name}`", "", _said(command.help), *table]) + "\n")
    return "\n".join(parts)


def readme(text: str) -> str:
    """The README's text with its tables made anew."""
    tables = {
        "commands": commands_table(),
        "flags": flags_table(),
        "refusals": codes_table(REFUSALS),
        "warnings": codes_table(WARNINGS),
    }
    for name, table in tables.items():
        begin = BEGIN.format(name)
        before, rest = text.split(begin, 1)
        text = f"{before}{begin}\n{table}\n{END}{rest.split(END, 1)[1]}"
    return text


def _said(text: str | None) -> str:
    return " ".join((text or "").split()).replace("|", "\\|")


def _spelled(option: Any) -> str:
    if not option.opts[0].startswith("-"):
        return f"`{option.name.upper()}{'...' if option.nargs == -1 else ''}`"
    return ", ".join(f"`{name}`" for name in (*option.opts, *option.secondary_opts))


def _explained(option: Any) -> str:
    said = _said(option.help)
    if option.show_default and option.default not in (None, "") and not isinstance(option.default, bool):
        said += f" Default: {option.default}."
    return said + (" Needed." if option.required and option.opts[0].startswith("-") else "")


def main() -> None:
    """Write the tables anew."""
    COMMANDS.write_text(commands_page(), encoding="utf-8")
    README.write_text(readme(README.read_text(encoding="utf-8")), encoding="utf-8")
    print(f"{COMMANDS}\n{README}")


if __name__ == "__main__":
    main()
