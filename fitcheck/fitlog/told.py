"""What a person types for the record to keep: a name, a note, a reason."""

from __future__ import annotations

from fitcheck.ground.refusal import WrongCall

MOST_LETTERS = 4000


def as_text(told: str | None) -> str | None:
    r"""``told`` as text that can be kept and printed: bytes that are no text stand as a question mark.

    Raises :class:`WrongCall` for more than a page of it.

    >>> as_text("A. Builder \udcff")
    'A. Builder ?'
    """
    if told is None:
        return None
    if len(told) > MOST_LETTERS:
        raise WrongCall(f"a note or a name has at most {MOST_LETTERS} letters")
    return told.encode("utf-8", "replace").decode("utf-8")


def as_name(told: str) -> str:
    """A person who must be named. Raises :class:`WrongCall` for what is empty or no text."""
    if not told.strip() or as_text(told) != told:
        raise WrongCall(f"--who {told!r} is no name: give the name of the one who does it")
    return told
