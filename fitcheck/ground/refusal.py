"""Why a photograph cannot be measured, and what to do about it at the bench.

Inside the program a step that cannot go on raises :class:`Refused`; the call that measures a photograph catches it
and gives back a result that is false and carries the reason. Only a wrong call (a bad option, a missing file)
raises out of the library, as :class:`WrongCall`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fitcheck.ground.candidates import Candidate


@dataclass(frozen=True)
class Reason:
    """One reason or warning: a short code for programs and a sentence for the builder.

    The sentence says what was seen, what was needed and what to do.

    >>> Reason("no-line", "No lap line is in sight.").as_json()
    {'code': 'no-line', 'text': 'No lap line is in sight.'}
    """

    code: str
    text: str

    def as_json(self) -> dict[str, str]:
        """The reason as the JSON contract writes it."""
        return {"code": self.code, "text": self.text}


class Refused(Exception):
    """Raised by a step that cannot measure this photograph; carries the :class:`Reason`.

    ``candidates`` are what had been found until then, to be shown: card, edges, lines.
    """

    def __init__(self, code: str, text: str, candidates: tuple[Candidate, ...] = ()) -> None:
        super().__init__(text)
        self.reason = Reason(code, text)
        self.candidates = candidates


class WrongCall(ValueError):
    """Raised when the call itself is wrong: an option that cannot be read, a file that is not there."""
