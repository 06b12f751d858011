"""The network that is trained, in PyTorch; fitcheck/lap/evidence/network.py is the same sum with numpy alone."""

from __future__ import annotations

from dataclasses import dataclass

import torch
from torch import nn
from torch.nn import functional

from tests.training.crops import Crop, Target

#: The score of a cell in which the mark cannot be.
BARRED = -30.0


@dataclass(frozen=True)
class Shape:
    """Channels in, kinds of answer a layer, marks; each layer's taps down and across, and how far these lie apart."""

    channels: int
    kinds: int
    marks: int
    layers: tuple[tuple[int, int, int, int], ...]
    spread_rows: float


#: A cell's score is of what lies within 5.4 mm across and 32 mm along, the course's of 19 mm and 48 mm.
SHAPES = {
    "edge_and_line": Shape(8, 16, 3, ((5, 3, 1, 1), (5, 3, 2, 1), (5, 3, 4, 2), (5, 3, 8, 4), (5, 3, 3, 8)), 0.8),
    "course": Shape(7, 10, 1, ((5, 3, 1, 1), (5, 3, 2, 1), (5, 3, 4, 2), (5, 3, 8, 4), (5, 3, 4, 8)), 1.2),
}


class Net(nn.Module):
    """Convolutions, each but the first added to what came before; ``none`` is each mark's score of not being there."""

    def __init__(self, shape: Shape) -> None:
        super().__init__()
        into = (shape.channels, *[shape.kinds] * (len(shape.layers) - 1))
        self.layers = nn.ModuleList(
            nn.Conv2d(
                have, shape.kinds, (tall, wide), dilation=(down, across), padding=(tall // 2 * down, wide // 2 * across)
            )
            for have, (tall, wide, down, across) in zip(into, shape.layers, strict=True)
        )
        self.heads = nn.Conv2d(shape.kinds, shape.marks, 1)
        self.none = nn.Parameter(torch.zeros(shape.marks))

    def forward(self, channels: torch.Tensor) -> torch.Tensor:
        """Scores (N, M, R, C) from channels (N, K, R, C)."""
        held = functional.relu(self.layers[0](channels))
        for layer in self.layers[1:]:
            held = held + functional.relu(layer(held))
        return self.heads(held)


def losses(net: Net, crop: Crop, spread_rows: float) -> dict[str, torch.Tensor]:
    """Cross entropy of each mark's row, or absence, a column; by the mark's name."""
    scores = net(torch.from_numpy(crop.channels[None]))[0]
    asked = [one for one in crop.targets if one.told.any()]
    return {one.name: _loss(scores[one.head], net.none[one.head], one, spread_rows) for one in asked}


def _loss(scores: torch.Tensor, none: torch.Tensor, target: Target, spread_rows: float) -> torch.Tensor:
    barred = torch.from_numpy(~target.allowed)
    rows = torch.cat([scores.masked_fill(barred, BARRED), none.expand(1, scores.shape[1])])
    each = -(_wanted(target, len(scores), spread_rows) * functional.log_softmax(rows, 0)).sum(0)
    return each[torch.from_numpy(target.told)].mean()


def _wanted(target: Target, rows: int, spread_rows: float) -> torch.Tensor:
    """Shares (R + 1, C) of each row, the last being absence: a mark's place is true to about a row."""
    row = torch.from_numpy(target.row).float().nan_to_num(-1e6)
    near = torch.exp(-0.5 * ((torch.arange(rows)[:, None] - row) / spread_rows) ** 2)
    whole = near.sum(0)
    there = torch.from_numpy(target.present) & (whole > 0.8)
    return torch.cat([torch.where(there, near / whole.clamp(min=1e-9), 0.0), (~there).float()[None]])
