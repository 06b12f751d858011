"""``fitcheck log cut``, ``feeler``, ``note`` and ``sign``: what the builder enters by hand."""

from __future__ import annotations

from typing import Annotated

import typer

from fitcheck.cli.log_common import HullFile, Note, Plank, Who, length, log_app, named, on_record, place
from fitcheck.fitlog.told import as_name, as_text

#: What comes after every cut.
CLAMP_AGAIN = "; clamp it again and photograph it"


@log_app.command()
def cut(
    plank: Plank,
    from_: Annotated[str | None, typer.Option("--from", help="Where the cut begins, along the tape.")] = None,
    to: Annotated[str | None, typer.Option("--to", help="Where it ends.")] = None,
    depth: Annotated[str | None, typer.Option("--depth", help="How deep, at the deepest.")] = None,
    from_card: Annotated[
        int | None,
        typer.Option("--from-card", min=0, help="The station card these places count from, of a plank in parts."),
    ] = None,
    advised: Annotated[bool, typer.Option("--as-asked", help="Every cut the latest fit asked for was made.")] = False,
    who: Who = None,
    note: Note = "",
    hull: HullFile = None,
) -> None:
    """Report what was planed. It opens a sign-off again."""
    from fitcheck.fitlog.by_hand import record_advised_cuts, record_cut
    from fitcheck.ground.refusal import WrongCall
    from fitcheck.report.record import record_lines

    settings, name = named(plank, hull)
    if advised and not (from_ or to or depth or from_card is not None):
        made = record_advised_cuts(settings.db_path, name, units=settings.units, who=who, note=note)
        on_record(f"{len(made)} cut{'s' if len(made) > 1 else ''} of {name} recorded", CLAMP_AGAIN)
        for cut_made in made:
            where = record_lines.span(cut_made["from_mm"], cut_made["to_mm"], settings, card=cut_made.get("from_card"))
            depth_said = record_lines.asked_depth(cut_made["deepest_mm"], settings)
            typer.echo(f"  {where}, {depth_said} deep{record_lines.counted(cut_made.get('from_card'))}")
        return
    if advised or from_ is None or to is None or depth is None:
        raise WrongCall("tell a cut with --from, --to and --depth, or all that was asked for with --as-asked alone")
    record_cut(
        settings.db_path,
        name,
        settings,
        from_mm=place(from_, "--from", from_card=from_card or 0),
        to_mm=place(to, "--to", from_card=from_card or 0),
        deepest_mm=length(depth, "--depth"),
        from_card=from_card,
        who=who,
        note=note,
    )
    on_record(f"cut of {name} recorded", record_lines.counted(from_card) + CLAMP_AGAIN)


@log_app.command()
def feeler(
    plank: Plank,
    blade: Annotated[str, typer.Option("--blade", help="Thickness of the blade, or of a slip of paper (about 0.1mm).")],
    goes_in: Annotated[bool, typer.Option("--goes-in/--stays-out", help="Whether it went into the lap.")],
    at: Annotated[str | None, typer.Option("--at", help="The place tried, along the tape.")] = None,
    from_: Annotated[str | None, typer.Option("--from", help="Where a stretch tried all along begins.")] = None,
    to: Annotated[str | None, typer.Option("--to", help="Where it ends.")] = None,
    who: Who = None,
    note: Note = "",
    hull: HullFile = None,
) -> None:
    """Enter a feeler reading of the lap, with its place."""
    from fitcheck.fitlog.by_hand import record_feeler
    from fitcheck.ground.refusal import WrongCall

    settings, name = named(plank, hull)
    if at is not None and from_ is None and to is None:
        start = end = place(at, "--at")
    elif at is None and from_ is not None and to is not None:
        start, end = place(from_, "--from"), place(to, "--to")
    else:
        raise WrongCall("tell one place with --at, or a stretch with --from and --to")
    record_feeler(
        settings.db_path,
        name,
        settings,
        from_mm=start,
        to_mm=end,
        blade_mm=length(blade, "--blade"),
        goes_in=goes_in,
        who=who,
        note=note,
    )
    on_record(f"feeler reading of {name} recorded")


@log_app.command()
def note(
    plank: Plank,
    note: Annotated[str, typer.Argument(help="The note, in quotes.", callback=as_text)] = "",
    at: Annotated[str | None, typer.Option("--at", help="Where a steel rule was read, along the tape.")] = None,
    past: Annotated[
        str | None, typer.Option("--past", help="What it reads: the edge is so far past the lap line.")
    ] = None,
    short: Annotated[str | None, typer.Option("--short", help="Or so far short of it.")] = None,
    who: Who = None,
    hull: HullFile = None,
) -> None:
    """Put a note on record, or what a steel rule reads from edge to line, which is held against the photographs."""
    from fitcheck.fitlog.notes import record_note
    from fitcheck.ground.refusal import WrongCall

    settings, name = named(plank, hull)
    if past is not None and short is not None:
        raise WrongCall("tell a rule's reading with --past or with --short, not with both")
    read = length(past, "--past") if past is not None else -length(short, "--short") if short is not None else None
    at_mm = None if at is None else place(at, "--at")
    record_note(settings.db_path, name, settings, note=note, at_mm=at_mm, past_line_mm=read, who=who)
    on_record(f"{'note' if read is None else 'reading'} of {name} recorded")


@log_app.command()
def sign(
    plank: Plank,
    who: Annotated[str, typer.Option("--who", help="Who signs.", callback=as_name)],
    overrule: Annotated[
        str | None, typer.Option("--overrule", help="Sign against what is missing, with the reason.", callback=as_text)
    ] = None,
    hull: HullFile = None,
) -> None:
    """Sign a plank off for fastening, or say what is still missing (exit status 3)."""
    from fitcheck.fitlog.signing import sign as signed

    settings, name = named(plank, hull)
    found = signed(settings.db_path, name, settings, who=who, overrule=overrule)
    on_record(f"{name} signed off by {found.who} after fit {found.fit_number}")
    for reason in found.missing:
        typer.echo(f"  overruled: {reason.text}")
    for line in found.looser:
        typer.echo(f"  signed under looser limits: {line}")
    typer.echo("This speaks of the fit where it was photographed, not of strength or tightness: local rules go first.")
