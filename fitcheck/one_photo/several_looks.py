"""One lap from several photographs of it, taken from different heights with the reference not moved: one answer.

The line, streaks of the strake and the inner corner lie on the strake's face, where all looks agree. The plank's face
and its outer corner stand above it and shift from look to look by what thickness and height make of it. So the looks'
evidence is added in one frame, that of the card, and what is wrong for one of them is no candidate any more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fitcheck.calibration.camera import Camera
from fitcheck.contract.hints import Hints
from fitcheck.contract.measurement import Measurement
from fitcheck.contract.settings import Settings
from fitcheck.ground.refusal import Refused
from fitcheck.one_photo.edge import Ready, ready, refusal
from fitcheck.one_photo.laid_looks import lay
from fitcheck.one_photo.scored_answer import answer_by_score, look_together
from fitcheck.one_photo.scored_edge import ready_either_way
from fitcheck.picture.photo import Photo


def measure_looks(photos: Sequence[Photo], camera: Camera, settings: Settings) -> Measurement:
    """Measure one lap from several photographs; places and pixels are those of the first that could be used.

    Places pointed at are in the first photograph. One that cannot be used says why; where that leaves one, it is
    measured as a single photograph is. The answer is false, with its
    reasons, where none can be used or where the looks do not agree.
    """
    found: list[Ready] = []
    lost: dict[str, Refused] = {}
    photos = list({photo.digest: photo for photo in photos}.values())
    for photo in photos:
        hints = settings.hints if photo is photos[0] else Hints(keel=settings.hints.keel)
        try:
            found.append(ready(photo, camera, replace(settings, hints=hints)))
        except Refused as refused:
            lost[photo.digest] = refused
    try:
        if len(found) > 1:
            laid = lay(found)
            lost.update(laid.lost)
            found = [one.ready for one in laid.looks]
        if len(found) > 1:
            return answer_by_score(look_together(laid), laid, camera, _told(photos, lost))
        if found:
            return replace(ready_either_way(found[0], camera), photos=_told(photos, lost))
        why = next(iter(lost.values()))
    except Refused as refused:
        why = refused
    return refusal(why.reason, settings, camera, _told(photos, lost), why.candidates)


def _told(photos: Sequence[Photo], lost: dict[str, Refused]) -> tuple[dict[str, object], ...]:
    """The photographs as the answer tells them: those used, then the others with the reason."""
    used = [{**photo.as_json(), "state": "measured"} for photo in photos if photo.digest not in lost]
    left = [
        {**photo.as_json(), "state": "refused", "reasons": [lost[photo.digest].reason.as_json()]}
        for photo in photos
        if photo.digest in lost
    ]
    return (*used, *left)
