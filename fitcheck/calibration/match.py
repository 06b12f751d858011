"""Does a photograph come from the calibrated camera, at the same size, lens and zoom?"""

from __future__ import annotations

from fitcheck.calibration.model import Camera
from fitcheck.ground.refusal import Reason, Refused
from fitcheck.picture.identity import CameraIdentity
from fitcheck.picture.photo import Photo

#: A focal length is written with two figures or so; a larger change than this is another lens or a zoom.
FOCAL_TOLERANCE = 0.02
#: Orientation tags that show the picture as in a mirror.
MIRRORED = (2, 4, 5, 7)


def check_measurable(camera: Camera, photo: Photo) -> tuple[Reason, ...]:
    """As :func:`check_match`, for a photograph to measure a lap from.

    Raises :class:`Refused` ``photo-mirrored`` too: whether the tag mirrors a true picture or mirrors a mirrored one
    back cannot be told, and a cut on the wrong side of the card costs the plank.
    """
    if photo.orientation in MIRRORED:
        raise Refused(
            "photo-mirrored",
            f"{photo.name} is to be shown as in a mirror, by its orientation tag ({photo.orientation}), so left and "
            "right may be the wrong way round. Use the camera's own file, not one turned over by another program, "
            "and photograph with the camera on the back of the phone.",
        )
    return check_match(camera, photo)


def check_match(camera: Camera, photo: Photo) -> tuple[Reason, ...]:
    """Warnings about how far the match can be told; ``camera`` describes the stored pixels, as its file does.

    Raises :class:`Refused`: ``camera-size``, ``camera-other`` (make or model), ``camera-lens``, ``camera-zoom``. What
    the photograph or the camera file does not say cannot be matched and is a warning, ``camera-unknown``.
    """
    if camera.size_px != photo.size_stored_px:
        raise Refused("camera-size", _size_text(camera.size_px, photo.size_stored_px, photo.name))
    difference = identity_difference(camera.identity, photo.identity)
    if difference is not None:
        code, what, kept, seen = difference
        raise Refused(
            code,
            f"{photo.name} was taken with {what} {seen}; the camera was calibrated with {kept}. "
            "Photograph as it was calibrated, or calibrate that setting too.",
        )
    if photo.identity.model is None or camera.identity.model is None:
        whose = photo.name if photo.identity.model is None else "the camera file"
        return (
            Reason(
                "camera-unknown",
                f"{whose} does not say which camera took it, so only the picture's size was matched. "
                "Use the camera's own file, with its EXIF data.",
            ),
        )
    return ()


def identity_difference(kept: CameraIdentity, seen: CameraIdentity) -> tuple[str, str, str, str] | None:
    """The first thing on which two identities surely differ, as (code, what, the one's, the other's), or None.

    >>> identity_difference(CameraIdentity(focal_35mm_mm=28.0), CameraIdentity(focal_35mm_mm=56.0))
    ('camera-zoom', 'a zoom (35 mm film) of', '28 mm', '56 mm')
    """
    for name, what in (("make", "the make"), ("model", "the model")):
        one, other = getattr(kept, name), getattr(seen, name)
        if one and other and one.casefold() != other.casefold():
            return "camera-other", what, one, other
    if kept.lens and seen.lens and kept.lens.casefold() != seen.lens.casefold():
        return "camera-lens", "the lens", kept.lens, seen.lens
    if _differ(kept.focal_mm, seen.focal_mm):
        return "camera-lens", "a lens of", f"{kept.focal_mm:g} mm", f"{seen.focal_mm:g} mm"
    if _differ(kept.focal_35mm_mm, seen.focal_35mm_mm):
        return "camera-zoom", "a zoom (35 mm film) of", f"{kept.focal_35mm_mm:g} mm", f"{seen.focal_35mm_mm:g} mm"
    if _differ(kept.digital_zoom or 1.0, seen.digital_zoom or 1.0):
        return "camera-zoom", "a digital zoom of", f"{kept.digital_zoom or 1:g}", f"{seen.digital_zoom or 1:g}"
    return None


def _differ(one: float | None, other: float | None) -> bool:
    return one is not None and other is not None and abs(one - other) > FOCAL_TOLERANCE * one


def _size_text(kept: tuple[int, int], seen: tuple[int, int], name: str) -> str:
    text = f"{name} is {seen[0]} x {seen[1]} pixels as stored; the camera was calibrated at {kept[0]} x {kept[1]}. "
    if seen == kept[::-1]:
        return text + "Another program seems to have turned it; use the camera's own file, and turn nothing."
    return text + "Use the camera's own file, not a cropped or sent copy, at the size it was calibrated with."
