"""Where to plane and how much: the best small move of the plank, then the least wood that puts the edge on its line."""

from fitcheck.advice.planing.planing_advice import advise

__all__ = ["advise"]
