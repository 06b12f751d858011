"""The equations of the joint solution: what the marker corners seen say about cameras, cards and hull."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from fitcheck.plank.joint.card_views import View
from fitcheck.plank.joint.hull_shape import Shape, held_by_change
from fitcheck.plank.joint.layout import Layout
from fitcheck.reference.pose import PRIOR_CENTRE, PRIOR_FOCAL, small_turn

#: Beyond the outermost cards the shape is still told this far. Cards nearer together than this share a knot.
BEYOND_MM, NEAREST_KNOTS_MM = 450.0, 80.0
#: How far cards may lie to either side of their own middle line; holds the frame's direction, no more.
U_ASIDE_MM = 30.0
#: The lowest card's place and one lone card's turn are held fast: they are the frame.
HOLD_MM, HOLD_RAD = 1e-3, 1e-5
OF_VIEW, OF_CARD = 9, 3
VIEW_STEPS = np.array([1e-6, 1e-6, 1e-6, 1e-4, 1e-4, 1e-4, 1e-6, 1e-6, 1e-6])
CARD_STEPS = np.array([1e-3, 1e-3, 1e-5])
SHAPE_STEP = 1e-9


class Change(NamedTuple):
    """A change of the unknowns by what they are of: views (V, 9), cards (K, 3), bends (J,) and twists (J,)."""

    by_view: np.ndarray
    by_card: np.ndarray
    bend: np.ndarray
    twist: np.ndarray


class HeldAlone(NamedTuple):
    """Unknowns held one by one (M,): their columns, how far they lie from where they are held, and how firmly."""

    columns: np.ndarray
    misses: np.ndarray
    u: np.ndarray


class Equations:
    """All sightings of some views, and the unknowns: nine a view, three a card, then the knots' bends and twists.

    A view's pose is told in the frame of the face at ``origins`` (V, 2), the middle of its cards, so that a small step
    there does not travel down the plank. ``cards`` (K, 3) are s, w and turn; a card is flat and touches the face.
    """

    def __init__(self, views: Sequence[View], layout: Layout) -> None:
        self.numbers = tuple(sorted(layout.cards))
        row = {number: k for k, number in enumerate(self.numbers)}
        self.cards = np.array([layout.cards[number] for number in self.numbers])
        self.origins = np.array([np.mean([layout.cards[n][:2] for n in view.numbers], axis=0) for view in views])
        self.shape = Shape.flat(_knots(self.cards[:, 0]))
        starts = [_start(view, layout, origin) for view, origin in zip(views, self.origins, strict=True)]
        self.rotation = np.array([rotation for rotation, _ in starts])
        self.shift = np.array([shift for _, shift in starts])
        self.lens = np.zeros((len(views), 3))
        every = [(v, card) for v, view in enumerate(views) for card in view.cards]
        counts = [len(card.points_mm) for _, card in every]
        self.view = np.repeat([v for v, _ in every], counts)
        self.card = np.repeat([row[number] for view in views for number in view.numbers], counts)
        self.points = np.concatenate([card.points_mm for _, card in every])
        self.seen = np.concatenate([views[v].lens.undistort(card.points_px) for v, card in every])
        self.u_px = np.concatenate([card.u_px for _, card in every])
        focal_px = np.array([view.lens.matrix[[0, 1], [0, 1]].mean() for view in views])
        self.weight = focal_px[self.view] / self.u_px
        self.prior_matrix, self.prior_scale = held_by_change(self.shape)

    @property
    def size(self) -> int:
        """The number of unknowns."""
        return self.shape_from + 2 * len(self.shape.knots_mm)

    @property
    def cards_from(self) -> int:
        """Where the cards' unknowns begin."""
        return OF_VIEW * len(self.rotation)

    @property
    def shape_from(self) -> int:
        """Where the shape's unknowns begin."""
        return self.cards_from + OF_CARD * len(self.cards)

    def _parts(self, change: np.ndarray) -> Change:
        knots = len(self.shape.knots_mm)
        by_view, by_card, bend, twist = np.split(change, [self.cards_from, self.shape_from, self.shape_from + knots])
        return Change(by_view.reshape(-1, OF_VIEW), by_card.reshape(-1, OF_CARD), bend, twist)

    def misses(self, change: np.ndarray) -> np.ndarray:
        """Residuals (2 N,) of the points in their standard uncertainties, after a change of the unknowns."""
        parts = self._parts(change)
        shape, cards = self.shape.changed(parts.bend, parts.twist), self.cards + parts.by_card
        at = self._points_on(shape, cards)
        origin, here = shape.frames(self.origins[:, 0])
        origin = origin + self.origins[:, 1:] * here[:, :, 1]
        local = np.einsum("ni,nij->nj", at - origin[self.view], here[self.view])
        turn = np.array([small_turn(one) for one in parts.by_view[:, :3]])
        before = np.einsum("nij,nj->ni", (self.rotation @ turn)[self.view], local)
        before += (self.shift + parts.by_view[:, 3:6])[self.view]
        lens = (self.lens + parts.by_view[:, 6:9])[self.view]
        aim = before[:, :2] / before[:, 2:] * (1.0 + lens[:, :1]) + lens[:, 1:]
        return np.asarray(((aim - self.seen) * self.weight[:, None]).ravel())

    def _points_on(self, shape: Shape, cards: np.ndarray) -> np.ndarray:
        """The marker corners (N, 3) in the shape's one frame."""
        centre, axes = shape.frames(cards[:, 0])
        turn = cards[self.card, 2]
        x, y, z = self.points.T
        flat = np.column_stack([np.cos(turn) * x - np.sin(turn) * y, np.sin(turn) * x + np.cos(turn) * y, z])
        flat[:, 1] += cards[self.card, 1]
        return np.asarray(centre[self.card] + np.einsum("nij,nj->ni", axes[self.card], flat))

    def slopes(self, base: np.ndarray) -> np.ndarray:
        """How the residuals ``base`` (2 N,) change with each unknown, (2 N, size), by small steps.

        A point knows one view and one card, so all views step at once, and all cards.
        """
        result = np.zeros((len(base), self.size))
        rows = np.arange(len(base))
        for start, end, whose, steps in (
            (0, self.cards_from, self.view, VIEW_STEPS),
            (self.cards_from, self.shape_from, self.card, CARD_STEPS),
        ):
            for number, step in enumerate(steps):
                change = np.zeros(self.size)
                change[start + number : end : len(steps)] = step
                result[rows, start + number + len(steps) * np.repeat(whose, 2)] = (self.misses(change) - base) / step
        for column in range(self.shape_from, self.size):
            change = np.zeros(self.size)
            change[column] = SHAPE_STEP
            result[:, column] = (self.misses(change) - base) / SHAPE_STEP
        return result

    def held(self) -> tuple[np.ndarray, np.ndarray]:
        """What the priors miss now (M,), in their uncertainties, and how that changes with each unknown (M, size)."""
        lone = self._held_alone()
        alone = np.zeros((len(lone.columns), self.size))
        alone[np.arange(len(lone.columns)), lone.columns] = 1.0 / lone.u
        knots = len(self.shape.knots_mm)
        chain = np.zeros((2 * knots, self.size))
        along = []
        for number, rate in enumerate((self.shape.bend, self.shape.twist)):
            at = self.shape_from + knots * number
            matrix = self.prior_matrix / self.prior_scale[number]
            chain[knots * number : knots * (number + 1), at : at + knots] = matrix
            along.append(matrix @ rate)
        return np.concatenate([lone.misses / lone.u, *along]), np.vstack([alone, chain])

    def _held_alone(self) -> HeldAlone:
        views, cards = len(self.rotation), len(self.cards)
        lens = (OF_VIEW * np.arange(views)[:, None] + np.arange(6, 9)).ravel()
        aside = self.cards_from + OF_CARD * np.arange(1, cards) + 1
        lone = self.cards_from + 2 + np.arange(cards == 1)
        columns = np.concatenate([lens, self.cards_from + np.arange(2), aside, lone])
        misses = [self.lens.ravel(), self.cards[0, :2], self.cards[1:, 1], self.cards[: len(lone), 2]]
        u = [PRIOR_FOCAL, PRIOR_CENTRE, PRIOR_CENTRE] * views + [HOLD_MM] * 2 + [U_ASIDE_MM] * (cards - 1)
        return HeldAlone(columns, np.concatenate(misses), np.array(u + [HOLD_RAD] * len(lone)))

    def take(self, change: np.ndarray) -> None:
        """Make a change of the unknowns the new start."""
        parts = self._parts(change)
        self.rotation = self.rotation @ np.array([small_turn(one) for one in parts.by_view[:, :3]])
        self.shift = self.shift + parts.by_view[:, 3:6]
        self.lens = self.lens + parts.by_view[:, 6:9]
        self.cards = self.cards + parts.by_card
        self.shape = self.shape.changed(parts.bend, parts.twist)


def _knots(places_mm: np.ndarray) -> np.ndarray:
    """A knot at each card, none too near the last, and one beyond either end."""
    places = np.sort(places_mm)
    inner = [float(places[0])]
    for place in places[1:]:
        if place - inner[-1] > NEAREST_KNOTS_MM:
            inner.append(float(place))
    return np.array([inner[0] - BEYOND_MM, *inner, inner[-1] + BEYOND_MM])


def _start(view: View, layout: Layout, origin: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """A first pose of the flat face at ``origin`` from the view's first card."""
    pose = view.poses[0]
    s, w, turn = layout.cards[view.numbers[0]]
    c, sn = np.cos(turn), np.sin(turn)
    rotation = pose.rotation @ np.array([[c, sn, 0.0], [-sn, c, 0.0], [0.0, 0.0, 1.0]])
    return rotation, pose.translation_mm + rotation @ np.array([origin[0] - s, origin[1] - w, 0.0])
