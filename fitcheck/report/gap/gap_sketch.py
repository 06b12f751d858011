"""The sketch on the lap ticket: a section of the lap, with the wedge that comes off the strake below."""

from __future__ import annotations

import math

from fitcheck.report.drawing.palette import EDGE, LOOKS
from fitcheck.report.drawing.sheet import Sheet

PLANK, STRAKE = (244, 230, 208), (226, 200, 168)
#: Not to scale: sizes on paper.
THICK_MM, LAP_MM, OPEN_MM, PLANK_MM, STRAKE_MM = 7.0, 30.0, 3.2, 58.0, 52.0


def draw_bevel(sheet: Sheet, at: tuple[float, float], wide: float) -> float:
    """Draw the section in a box ``wide`` mm wide with its top left at ``at``; gives its foot in mm.

    The hull's outside is up and the keel to the left; the lap stands open at the lap line and bears at the upper edge
    of the strake below, from which the wedge comes.
    """
    left, top = at
    line_x, face_y = left + STRAKE_MM - LAP_MM, top + 17.0
    upper_x = left + STRAKE_MM
    strake = [(left, face_y), (upper_x, face_y), (upper_x, face_y + THICK_MM), (left, face_y + THICK_MM)]
    sheet.area(strake, STRAKE, outline=EDGE, width_mm=0.3)
    wedge = [(line_x, face_y), (upper_x, face_y), (upper_x, face_y + OPEN_MM)]
    sheet.area(wedge, (255, 255, 255))
    sheet.hatched(wedge, LOOKS["plane"].colour, pitch_mm=1.1)
    sheet.line([wedge[0], wedge[2]], LOOKS["plane"].colour, 0.4)
    lean = math.atan2(OPEN_MM, LAP_MM)
    along, out = (math.cos(lean), math.sin(lean)), (math.sin(lean), -math.cos(lean))
    foot = (line_x, face_y - OPEN_MM)
    far = (foot[0] + PLANK_MM * along[0], foot[1] + PLANK_MM * along[1])
    raised = [(x + THICK_MM * out[0], y + THICK_MM * out[1]) for x, y in (far, foot)]
    sheet.area([foot, far, *raised], PLANK, outline=EDGE, width_mm=0.3)
    words_x = max(far[0], upper_x) + 6.0
    said = (
        ("Section, not to scale: outside up, keel to the left.", False),
        ("The lap is open at the plank's lower edge and bears at the upper edge of the strake below.", False),
        ("Hatched: what comes off the strake below, the told depth at its upper edge, nothing at the lap line.", True),
    )
    words_y = top + 6.0
    for words, bold in said:
        words_y = sheet.block((words_x, words_y), words, 8.5, left + wide - words_x, bold=bold) + 0.8
    sheet.text((left + 1.5, face_y + 0.65 * THICK_MM), "strake below", 7)
    sheet.text((line_x + 0.42 * PLANK_MM, foot[1] + 0.42 * PLANK_MM * along[1] - 2.6), "plank", 7)
    sheet.text((line_x - 1.0, face_y - 1.2), "open", 7.5, bold=True, align="right")
    sheet.text((line_x, face_y + THICK_MM + 3.2), "lap line", 7, align="centre")
    sheet.text((upper_x, face_y + THICK_MM + 3.2), "upper edge", 7, align="centre")
    return face_y + THICK_MM + 5.0
