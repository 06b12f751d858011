"""The usual cautions that every report carries, and what the tool does not say."""

from __future__ import annotations

CAUTIONS = (
    "A clamped plank is a loaded spring: work from the side, never slacken a clamp or lean in for a photograph, "
    "and put a second clamp beside one before easing it.",
    "Planes, band saws and planers: guards, push sticks, and help with long stock.",
    "Wood dust harms: several boat woods sensitise, and oak and beech dust is a known carcinogen. "
    "Extraction and a mask.",
    "Old paint and bedding may hold lead. Bedding compounds, epoxies and isocyanates: gloves and air. "
    "Linseed-oil rags heat themselves.",
    "This shows geometry where it was photographed, on a dry clamped plank: not strength, not watertightness, "
    "not fitness for sea. Those are for the designer, local rules and a licensed surveyor.",
)
#: The one line that stands where hands are nearest the blade.
SHORT_CAUTION = (
    "A clamped plank is a loaded spring: second clamp on before easing one, work from the side. Guards on, "
    "dust mask on. Geometry only: strength and fitness for sea are for the designer, local rules and a licensed "
    "surveyor."
)
SHAVING = "Stop with a shaving in hand: clamp dry, photograph again, and let the next fit show the rest."
TICK = (
    "Before you unclamp: tick the stations and the ends of every cut on the plank with a pencil, from the cards or "
    "the tape. Once it is off, nothing shows where a place was."
)
