"""``fitcheck log withdraw`` and ``fitcheck log move``: a mistake is taken back, and nothing is ever erased."""

from __future__ import annotations

from typing import Annotated

import typer

from fitcheck.cli.log_common import HullFile, Plank, log_app, named, on_record, place

Why = Annotated[str, typer.Option("--why", help="Why, in a few words that stay on record.", show_default=False)]
By = Annotated[str, typer.Option("--who", help="Who does it.", show_default=False)]
Number = Annotated[int | None, typer.Option("--fit", help="The fit's number, as log show tells.", show_default=False)]


@log_app.command()
def withdraw(
    plank: Plank,
    who: By,
    why: Why,
    fit: Number = None,
    set_: Annotated[
        int | None, typer.Option("--set", help="Only this set of the fit's photographs.", show_default=False)
    ] = None,
    cut: Annotated[int | None, typer.Option("--cut", help="A reported cut, by its number.", show_default=False)] = None,
    feeler: Annotated[
        int | None, typer.Option("--feeler", help="A feeler reading, by its number.", show_default=False)
    ] = None,
    note: Annotated[
        int | None, typer.Option("--note", help="A note or a rule's reading, by its number.", show_default=False)
    ] = None,
    hull: HullFile = None,
) -> None:
    """Take back a fit, a cut, a reading or a note: it stays on record, struck through. Its photographs are free."""
    from fitcheck.fitlog import withdraw as taking
    from fitcheck.fitlog.notes import take_note_back
    from fitcheck.ground.refusal import WrongCall

    settings, name = named(plank, hull)
    if sum(number is not None for number in (fit, cut, feeler, note)) != 1 or (set_ is not None and fit is None):
        raise WrongCall(
            "tell one thing to take back: --fit (with --set for some of its photographs), --cut, --feeler or --note"
        )
    told = {"who": who, "why": why}
    if cut is not None:
        what = taking.withdraw_cut(settings.db_path, name, number=cut, **told)
    elif feeler is not None:
        what = taking.withdraw_feeler(settings.db_path, name, settings, number=feeler, **told)
    elif note is not None:
        what = take_note_back(settings.db_path, name, number=note, **told)
    elif set_ is not None:
        what = taking.withdraw_set(settings.db_path, name, settings, number=fit or 0, set_number=set_, **told)
    else:
        what = taking.withdraw_fit(settings.db_path, name, number=fit or 0, **told)
    on_record(f"{what} withdrawn", "; it stays on record, struck through")


@log_app.command()
def move(
    plank: Plank,
    who: By,
    why: Why,
    fit: Annotated[int, typer.Option("--fit", help="The fit's number, as log show tells.", show_default=False)],
    to: Annotated[str | None, typer.Option("--to", help="The plank that the fit is of.", show_default=False)] = None,
    at: Annotated[
        str | None,
        typer.Option("--at", help="Where along the tape the reference's middle lay.", show_default=False),
    ] = None,
    set_: Annotated[
        int | None, typer.Option("--set", help="With --at: which of the fit's photographs.", show_default=False)
    ] = None,
    hull: HullFile = None,
) -> None:
    """Bring a fit to another plank, or photographs without station cards to another place. The old entry stays, struck
    through."""
    from fitcheck.fitlog import move as moving
    from fitcheck.ground.refusal import WrongCall
    from fitcheck.hull.plank_name import read_plank

    settings, name = named(plank, hull)
    told = {"who": who, "why": why}
    if (to is None) == (at is None) or (set_ is not None and at is None):
        raise WrongCall("tell where to: --to PLANK for the whole fit, or --at PLACE for photographs without cards")
    if to is not None:
        other = read_plank(to, settings)
        number = moving.move_fit(settings.db_path, name, other, settings, number=fit, **told)
        on_record(f"fit {fit} of {name} is now fit {number} of {other}")
        typer.echo("cuts stay where they were reported: withdraw them there (--cut), and report them anew, if need be")
    else:
        at_mm = place(at or "", "--at")
        moving.move_set(settings.db_path, name, settings, number=fit, set_number=set_, at_mm=at_mm, **told)
        on_record(f"those photographs of fit {fit} of {name} now lie at {at}")
