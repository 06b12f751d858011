"""Everything on record of one plank, gathered for its history pictures and page."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fitcheck.fitlog import queries
from fitcheck.fitlog.names import PlankName
from fitcheck.fitlog.profile import Sample
from fitcheck.fitlog.summary import profiles_of, summary_of
from fitcheck.fitlog.terms import Terms, terms_of
from fitcheck.hull import Hull


@dataclass(frozen=True)
class PastFit:
    """One fit: what was told of it, its summary, its profile along the plank (empty without places), its cuts."""

    fit: queries.Fit
    summary: Mapping[str, Any]
    profile: tuple[Sample, ...]
    asked: tuple[Mapping[str, Any], ...]


@dataclass(frozen=True)
class History:
    """One plank's fits, oldest first, the cuts reported between them, and its signatures."""

    plank: PlankName
    terms: Terms
    fits: tuple[PastFit, ...]
    cuts: tuple[queries.Cut, ...]
    signoffs: tuple[queries.Signoff, ...]

    def profiled(self) -> list[PastFit]:
        """The fits whose places along the plank are known, which can be drawn together."""
        return [past for past in self.fits if past.profile]


def history(connection: sqlite3.Connection, plank: PlankName, hull: Hull) -> History:
    """Read the whole history of one plank. Raises :class:`WrongCall` where nothing of it is on record."""
    terms = terms_of(plank, hull)
    fits = [_past_fit(connection, fit, terms) for fit in queries.fits(connection, plank)]
    cuts, signoffs = queries.cuts(connection, plank), queries.signoffs(connection, plank)
    return History(plank, terms, tuple(fits), tuple(cuts), tuple(signoffs))


def _past_fit(connection: sqlite3.Connection, fit: queries.Fit, terms: Terms) -> PastFit:
    frame, profiles = profiles_of(connection, fit.id, terms)
    profile = tuple(profiles[0]) if frame == "plank" and profiles else ()
    asked = queries.advised_cuts(connection, fit.id)
    return PastFit(fit, summary_of(connection, fit.id, terms), profile, tuple(asked))
