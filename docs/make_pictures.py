"""Make the pictures of the documents: python docs/make_pictures.py, from a checkout with the test extra installed.

The photographs come from the picture maker of the tests, so what they show is invented; the last one is the answer to
a sample photograph, as ``fitcheck measure`` draws it.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

HERE = Path(__file__).resolve().parent
PICTURES = HERE / "pictures"
sys.path[:0] = [str(HERE.parent), str(HERE)]

from drawings import DRAWINGS  # noqa: E402

from tests.scenes.cameras import Camera  # noqa: E402
from tests.scenes.picture import render  # noqa: E402
from tests.scenes.scene import Scene  # noqa: E402

QUALITY = 82
BAND = 46
INK, PAPER = (20, 24, 28), (255, 255, 255)
DO, DONT = ("do", (0, 114, 178)), ("not so", (176, 64, 0))


def guide_camera(width: int, height: int, focal_px: float) -> Camera:
    """A lens without distortion, for pictures that only explain."""
    centre = ((width - 1) / 2, (height - 1) / 2)
    return Camera(
        "guide", (width, height), (focal_px, focal_px), centre, (0.0,) * 5, "Marram (invented)", "Guide", 4.2, 29
    )


WIDE = Scene(
    seed=11,
    camera=guide_camera(1000, 620, 820.0),
    distance_mm=400.0,
    aim_mm=(75.0, 45.0),
    elevation_deg=-10.0,
    past_mm=-4.0,
    past_wander_mm=0.4,
    line_y_mm=55.0,
    line_contrast=0.62,
    line_width_mm=0.8,
    line_tooth=0.2,
    line_skips=0.0,
    strake_wood="larch",
    plank_wood="cedar",
    grain=0.7,
    reference_turn_deg=2.0,
    light_from_deg=165.0,
    exposure=0.36,
    vignette=0.05,
    noise_dn=1.5,
    blur_px=0.6,
    jpeg_quality=95,
    board_mm=(-400.0, 400.0),
)
NEAR = replace(WIDE, camera=guide_camera(440, 330, 2300.0), aim_mm=(62.0, 55.0), distance_mm=420.0)

EDGE_ON = replace(
    WIDE,
    kind="edge-on",
    camera=guide_camera(1000, 470, 1500.0),
    aim_mm=(0.0, 52.0),
    distance_mm=330.0,
    elevation_deg=-66.0,
    past_mm=-2.0,
    gap_mm=0.9,
    gap_wander_mm=0.9,
    gap_wave_mm=200.0,
    reference="none",
    light_from_deg=180.0,
)


def photo(scene: Scene) -> Image.Image:
    """A scene photographed, as a picture to draw on."""
    return Image.fromarray(np.ascontiguousarray(render(scene).pixels[..., ::-1]))


def font(size: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    """The lettering that Pillow carries with it."""
    return ImageFont.load_default(size)


def point_out(picture: Image.Image, text: str, at: tuple[int, int], plate: tuple[int, int]) -> None:
    """Words on a white plate whose top left is ``plate``, with a line to the place ``at`` they speak of."""
    draw = ImageDraw.Draw(picture)
    box = draw.multiline_textbbox(plate, text, font=font(20), spacing=4)
    box = (box[0] - 9, box[1] - 7, box[2] + 9, box[3] + 7)
    start = (min(max(at[0], box[0]), box[2]), min(max(at[1], box[1]), box[3]))
    for colour, width in ((PAPER, 7), (INK, 3)):
        draw.line([start, at], fill=colour, width=width)
    draw.ellipse([at[0] - 6, at[1] - 6, at[0] + 6, at[1] + 6], fill=INK, outline=PAPER, width=2)
    draw.rounded_rectangle(box, 5, fill=PAPER, outline=INK)
    draw.multiline_text(plate, text, font=font(20), fill=INK, spacing=4)


def panels(parts: list[tuple[Image.Image, tuple[str, tuple[int, int, int]], str]]) -> Image.Image:
    """Pictures side by side, each under a band that says in words whether to do so."""
    wide = sum(one.width for one, _, _ in parts) + 12 * (len(parts) - 1)
    sheet = Image.new("RGB", (wide, parts[0][0].height + BAND), PAPER)
    draw, left = ImageDraw.Draw(sheet), 0
    for one, (mark, colour), text in parts:
        draw.rectangle([left, 0, left + one.width - 1, BAND], fill=colour)
        draw.text((left + 12, BAND // 2), f"{mark}: {text}", font=font(21), fill=PAPER, anchor="lm")
        sheet.paste(one, (left, BAND))
        left += one.width + 12
    return sheet


def square_on() -> Image.Image:
    """The photograph to take, with the lap magnified in a corner of it."""
    picture = photo(WIDE)
    near = photo(replace(NEAR, camera=guide_camera(420, 230, 2300.0), elevation_deg=-10.0))
    point_out(near, "the plank's lower edge", (140, 93), (24, 18))
    point_out(near, "the lap line, in sight all along", (250, 117), (100, 172))
    draw = ImageDraw.Draw(picture)
    left, top = 550, 24
    for corner in ((left, top + near.height), (left + near.width, top + near.height)):
        draw.line([corner, (560 if corner[0] == left else 900, 284)], fill=PAPER, width=3)
    draw.rectangle([left - 4, top - 4, left + near.width + 3, top + near.height + 3], fill=PAPER)
    picture.paste(near, (left, top))
    point_out(picture, "the plank", (300, 200), (250, 120))
    point_out(picture, "the strake below", (760, 500), (680, 550))
    card = "the card: flat on the strake below,\n2 to 10 cm (1 to 4 in) from the lap,\nnot in the middle of the picture"
    point_out(picture, card, (300, 440), (40, 510))
    return picture


def from_above() -> Image.Image:
    """Why the camera stands low: one lap seen from three places."""
    low = photo(replace(NEAR, elevation_deg=-12.0))
    high = photo(replace(NEAR, elevation_deg=30.0))
    witness = photo(replace(NEAR, elevation_deg=30.0, witness_mm=15.0, aim_mm=(62.0, 49.0)))
    point_out(low, "lap line", (250, 170), (300, 215))
    point_out(high, "no line in sight", (250, 175), (230, 225))
    point_out(witness, "witness line", (250, 212), (280, 250))
    return panels(
        [
            (low, DO, "from a little below"),
            (high, DONT, "the step hides the line"),
            (witness, DO, "a witness line, if from above"),
        ]
    )


def light() -> Image.Image:
    """Where the lamp hangs."""
    lamp = replace(NEAR, camera=guide_camera(560, 330, 2300.0), elevation_deg=-12.0, light_slant_deg=50.0)
    lamp = replace(lamp, light_share=0.75, penumbra_deg=0.6)
    keel = photo(replace(lamp, light_from_deg=170.0))
    sheer = photo(replace(lamp, light_from_deg=0.0, exposure=0.22))
    point_out(keel, "edge and line, no shadow", (380, 168), (290, 215))
    point_out(sheer, "the plank's shadow lies over the line", (380, 185), (180, 260))
    return panels(
        [(keel, DO, "light from the keel's side, or overcast"), (sheer, DONT, "a lamp above, on the sheer side")]
    )


def card_place() -> Image.Image:
    """Which wood the card lies on."""
    view = replace(WIDE, camera=guide_camera(560, 400, 420.0), aim_mm=(40.0, 45.0))
    right = photo(view)
    wrong = photo(replace(view, reference="none", plank_card_mm=(0.0, 60.0)))
    point_out(right, "on the strake below", (200, 255), (40, 330))
    point_out(wrong, "a thickness nearer the camera:\nevery length would come out wrong", (230, 110), (30, 280))
    return panels([(right, DO, "card on the strake below"), (wrong, DONT, "card on the plank itself")])


def edge_on() -> Image.Image:
    """The other photograph: looking up along the face at the plank's edge."""
    picture = photo(EDGE_ON)
    point_out(picture, "outer corner", (200, 174), (60, 50))
    point_out(picture, "edge face: the plank's whole thickness", (420, 197), (330, 50))
    point_out(picture, "lap closed here", (150, 225), (60, 320))
    point_out(picture, "lap open: a dark slit under the inner corner", (820, 222), (480, 320))
    return picture


def answer() -> Image.Image:
    """A sample photograph with its answer drawn on."""
    from fitcheck.answering.edge_answers import measure_request
    from fitcheck.answering.given import Given
    from fitcheck.answering.read_request import read_request
    from fitcheck.report.edge.overlay import overlay

    lap = Given(reference="id1", thickness="12.7mm", lap="25.4mm", bevel="6deg", witness="20mm")
    path = HERE.parent / "sample_images" / "laps" / "strake5-port-fit1.jpg"
    (answered,) = measure_request(read_request([path], lap, camera=HERE.parent / "calib" / "teal.json"))
    drawn = overlay(answered.photos[0].pixels, answered.measurement)
    small = cv2.resize(drawn, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    return Image.fromarray(np.ascontiguousarray(small[..., ::-1]))


def edge_on_answer() -> Image.Image:
    """An edge-on photograph with its answer drawn on, as ``fitcheck gap`` draws it."""
    from fitcheck.calibration.camera import Camera as Lens
    from fitcheck.contract.settings import Settings
    from fitcheck.one_photo.open_lap import measure_gap_loaded
    from fitcheck.picture.photo import Photo
    from fitcheck.report.gap.gap_overlay import gap_overlay

    seen = guide_camera(2000, 1240, 1900.0)
    scene = replace(EDGE_ON, camera=seen, reference="id1", distance_mm=360.0, aim_mm=(20.0, 45.0), gap_mm=0.25)
    pixels = render(replace(scene, gap_wander_mm=0.6, line_drawn=False, past_mm=-0.5)).pixels
    (wide, high), focal_px, centre = seen.size_px, 1900.0, ((seen.size_px[0] - 1) / 2, (seen.size_px[1] - 1) / 2)
    lens = Lens(np.array([[focal_px, 0, centre[0]], [0, focal_px, centre[1]], [0, 0, 1]]), np.zeros(5), (wide, high))
    told = Settings(reference="id1", thickness_mm=scene.thickness_mm, lap_mm=25.4, bevel_deg=6.0)
    answered = measure_gap_loaded(Photo(pixels, Path("edge-on.jpg"), "", 1, (wide, high)), lens, told)
    drawn = gap_overlay(pixels, answered)
    small = cv2.resize(drawn, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    return Image.fromarray(np.ascontiguousarray(small[..., ::-1]))


PHOTOS = {
    "square-on.jpg": square_on,
    "from-above.jpg": from_above,
    "light.jpg": light,
    "card-place.jpg": card_place,
    "edge-on.jpg": edge_on,
    "edge-on-answer.jpg": edge_on_answer,
    "answer.jpg": answer,
}


def main() -> None:
    """Write every picture anew."""
    PICTURES.mkdir(exist_ok=True)
    for name, make in PHOTOS.items():
        make().save(PICTURES / name, quality=QUALITY, optimize=True)
        print(PICTURES / name)
    for name, draw in DRAWINGS.items():
        (PICTURES / name).write_text(draw(), encoding="utf-8")
        print(PICTURES / name)


if __name__ == "__main__":
    main()
