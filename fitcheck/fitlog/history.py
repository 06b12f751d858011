"""Everything on record of one plank, gathered for its history pictures and page."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fitcheck.fitlog import queries
from fitcheck.fitlog.closed import Feeler
from fitcheck.fitlog.fit_profile import Sample
from fitcheck.fitlog.judged_by import Terms, terms_of
from fitcheck.fitlog.notes import Note, notes
from fitcheck.fitlog.summary import profiles_of, summary_of
from fitcheck.hull.plank_name import PlankName
from fitcheck.hull.settings_file import Hull


@dataclass(frozen=True)
class PastFit:
    """One fit: what was told of it, its summary, its profile along the plank (empty without places), the cuts it asked
    for, and every feeler reading of its lap."""

    fit: queries.Fit
    summary: Mapping[str, Any]
    profile: tuple[Sample, ...]
    asked: tuple[Mapping[str, Any], ...]
    feelers: tuple[Feeler, ...] = ()


@dataclass(frozen=True)
class History:
    """One plank's fits that stand, oldest first; those withdrawn; every cut, signature and note."""

    plank: PlankName
    terms: Terms
    fits: tuple[PastFit, ...]
    withdrawn: tuple[PastFit, ...]
    cuts: tuple[queries.Cut, ...]
    signoffs: tuple[queries.Signoff, ...]
    notes: tuple[Note, ...] = ()

    def profiled(self) -> list[PastFit]:
        """The fits whose places along the plank are known, which can be drawn together."""
        return [past for past in self.fits if past.profile]


def history(connection: sqlite3.Connection, plank: PlankName, hull: Hull) -> History:
    """Read the whole history of one plank. Raises :class:`WrongCall` where nothing of it is on record."""
    terms = terms_of(plank, hull)
    past = [_past_fit(connection, fit, terms) for fit in queries.fits(connection, plank, withdrawn=True)]
    standing = tuple(one for one in past if one.fit.withdrawn is None)
    gone = tuple(one for one in past if one.fit.withdrawn is not None)
    cuts, signoffs = queries.cuts(connection, plank, withdrawn=True), queries.signoffs(connection, plank)
    told = tuple(notes(connection, plank, withdrawn=True))
    return History(plank, terms, standing, gone, tuple(cuts), tuple(signoffs), told)


def _past_fit(connection: sqlite3.Connection, fit: queries.Fit, terms: Terms) -> PastFit:
    frame, profiles = profiles_of(connection, fit.id, terms)
    profile = tuple(profiles[0]) if frame == "plank" and profiles else ()
    asked = queries.advised_cuts(connection, fit.id)
    feelers = queries.feelers(connection, fit.id, withdrawn=True)
    return PastFit(fit, summary_of(connection, fit.id, terms), profile, tuple(asked), tuple(feelers))
