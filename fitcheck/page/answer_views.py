"""The answer of a job as a page: what to do, the photographs with their drawing, and what can be put right."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.responses import Response

from fitcheck.page.asked import Ask

if TYPE_CHECKING:
    from fitcheck.page.jobs import Job

#: Papers that a report may hold, as they are offered.
PAPERS = {
    "report_ticket.pdf": "Ticket to print",
    "report_cut_strip.pdf": "Cut strip to print, at full size",
    "gap_ticket.pdf": "Ticket to print",
    "report_edge.dxf": "Edge as a drawing (DXF)",
}


def answer(ask: Ask, job: Job) -> Response:
    """The page of a job that was measured or refused."""
    from fitcheck.fitlog.listing import standings_at

    hull = ask.shop.hull()
    folder = ask.shop.job_folder(job.id)
    found = ask.shop.answer(job.id) or {"answers": [], "notes": [], "not_recorded": ""}
    standing = next((one for one in standings_at(hull) if str(one.plank) == job.plank), None)
    papers = [(name, words) for name, words in PAPERS.items() if (folder / "report" / name).is_file()]
    return ask.page(
        "answer.html",
        hull=hull.name,
        job=job,
        found=found,
        todo=standing.todo if standing is not None else "",
        papers=papers,
        cautions=_cautions(),
        lower="8 in" if hull.units == "in" else "20 cm",
    )


def _cautions() -> tuple[str, ...]:
    from fitcheck.report.drawing.cautions import CAUTIONS

    return tuple(CAUTIONS)
