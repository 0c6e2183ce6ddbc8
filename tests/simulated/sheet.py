"""An orthotropic membrane held by four rods, by finite elements: what pulls where.

Bilinear rectangles, small strains, thin plane stress. The sheet is linear, so one factorisation
gives every field that rollers and reliefs can make. Nothing of ``benchterm`` is used here.

x runs from left to right (weft), y from near to far (warp); lengths mm, tension N/cm. Each rod
holds the nodes of its edge between two gaps: the pull moves them outwards, and they cannot slip
along the rod. Mesh let back in at a corner moves the ends of both its rods inwards, less and less
over ``RELIEF_REACH_MM``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import splu

FOOTPRINT_MM = (80.0, 60.0)
"""Of a gauge, along the threads it measures and across them."""
INSET_MM = 50.0
"""From the edges to where a corner or a side is read."""
PEAK_MM = 12.0
"""The peak tension is the highest mean over a square this wide."""
RELIEF_REACH_MM = 120.0
SIDES = ("near", "far", "left", "right")
CORNERS = ("near left", "near right", "far left", "far right")


@dataclass(frozen=True)
class Sheet:
    """The mesh between the rollers. Stiffness is relative: weft 1, tension per strain."""

    width_mm: float
    depth_mm: float
    warp_over_weft: float
    nu: float
    """Of the geometric mean of both directions, as in the coupling ``nu sqrt(K/K')``."""
    shear_over_weft: float
    gap_mm: float
    grip: float = 0.003
    """How firmly a rod keeps mesh from creeping along it, per mm of rod, weft stiffness 1."""
    lean: float = 0.0
    """Angle between the threads and the rods, radians."""

    @cached_property
    def fields(self) -> dict[str, tuple[np.ndarray, np.ndarray]]:
        """Strain-like tension (warp, weft) at each element for 1 mm of each load."""
        loads = [*SIDES, *CORNERS]
        moved = np.stack([self._prescribed(load) for load in loads], axis=1)
        solved = moved.copy()
        free, held = self._free, ~self._free
        solved[free] = splu(self._stiffness[free][:, free].tocsc()).solve(
            -self._stiffness[free][:, held] @ moved[held]
        )
        strain = np.einsum("sk,ekl->esl", _GRADIENT, solved[self._dofs])
        strain[:, 0] /= self._size[:, 0, None]
        strain[:, 1] /= self._size[:, 1, None]
        ux_x, uy_y = strain[:, 0], strain[:, 1]
        gamma = strain[:, 2] / self._size[:, 1, None] + strain[:, 3] / self._size[:, 0, None]
        stress = np.einsum("ij,ejl->eil", self._elastic, np.stack([ux_x, uy_y, gamma], axis=1))
        return {load: (stress[:, 1, i], stress[:, 0, i]) for i, load in enumerate(loads)}

    def shown(self, x: float, y: float, *, along: bool) -> np.ndarray:
        """Weights by which a gauge there, along or across, sees the elements' tension."""
        length, breadth = FOOTPRINT_MM
        half = (breadth / 2, length / 2) if along else (length / 2, breadth / 2)
        return self._over(x, y, *half)

    def place(self, column: int, row: int) -> tuple[float, float]:
        """Where a station is read: ``column`` and ``row`` -1, 0 or 1 from left and near."""
        x = (INSET_MM, self.width_mm / 2, self.width_mm - INSET_MM)[column + 1]
        y = (INSET_MM, self.depth_mm / 2, self.depth_mm - INSET_MM)[row + 1]
        return x, y

    @cached_property
    def peak_windows(self) -> np.ndarray:
        """Rows of weights, one for each little square at the rod ends and corners."""
        rows = []
        reach = self.gap_mm + 15.0
        steps = np.arange(PEAK_MM / 2, reach + 1, PEAK_MM / 2)
        for far in (0, 1):
            for right in (0, 1):
                for a in steps:
                    for x, y in ((a, PEAK_MM / 2), (PEAK_MM / 2, a)):
                        at_x = self.width_mm - x if right else x
                        at_y = self.depth_mm - y if far else y
                        rows.append(self._over(at_x, at_y, PEAK_MM / 2, PEAK_MM / 2))
        return np.array(rows)

    @cached_property
    def _lines(self) -> tuple[np.ndarray, np.ndarray]:
        return _graded(self.width_mm, self.gap_mm), _graded(self.depth_mm, self.gap_mm)

    @cached_property
    def _cells(self) -> np.ndarray:
        """x0, x1, y0, y1 of each element."""
        xs, ys = self._lines
        x0, y0 = np.meshgrid(xs[:-1], ys[:-1], indexing="ij")
        x1, y1 = np.meshgrid(xs[1:], ys[1:], indexing="ij")
        return np.stack([x0.ravel(), x1.ravel(), y0.ravel(), y1.ravel()], axis=1)

    @cached_property
    def _size(self) -> np.ndarray:
        return self._cells[:, [1, 3]] - self._cells[:, [0, 2]]

    @cached_property
    def _dofs(self) -> np.ndarray:
        xs, ys = self._lines
        node = np.arange(len(xs) * len(ys)).reshape(len(xs), len(ys))
        corners = [node[:-1, :-1], node[1:, :-1], node[1:, 1:], node[:-1, 1:]]
        nodes = np.stack([c.ravel() for c in corners], axis=1)
        return np.stack([2 * nodes, 2 * nodes + 1], axis=2).reshape(len(nodes), 8)

    @cached_property
    def _elastic(self) -> np.ndarray:
        """Plane stress, x weft and y warp, threads turned by the lean."""
        weft, warp = 1.0, self.warp_over_weft
        cross = self.nu * np.sqrt(weft * warp)
        straight = np.array([[weft, cross, 0], [cross, warp, 0], [0, 0, self.shear_over_weft]])
        c, s = np.cos(self.lean), np.sin(self.lean)
        turn = np.array(
            [[c * c, s * s, c * s], [s * s, c * c, -c * s], [-2 * c * s, 2 * c * s, c * c - s * s]]
        )
        return turn.T @ straight @ turn

    @cached_property
    def _stiffness(self):
        points = np.array([-1, 1]) / np.sqrt(3)
        a, b = self._size[:, 0], self._size[:, 1]
        total = np.zeros((len(a), 8, 8))
        for xi in points:
            for eta in points:
                dx = np.array([-(1 - eta), 1 - eta, 1 + eta, -(1 + eta)]) / 4
                dy = np.array([-(1 - xi), -(1 + xi), 1 + xi, 1 - xi]) / 4
                strain = np.zeros((len(a), 3, 8))
                strain[:, 0, 0::2] = dx * (2 / a)[:, None]
                strain[:, 1, 1::2] = dy * (2 / b)[:, None]
                strain[:, 2, 0::2] = dy * (2 / b)[:, None]
                strain[:, 2, 1::2] = dx * (2 / a)[:, None]
                work = np.einsum("eik,ij,ejl->ekl", strain, self._elastic, strain)
                total += work * (a * b / 4)[:, None, None]
        rows = np.repeat(self._dofs, 8, axis=1).ravel()
        columns = np.tile(self._dofs, (1, 8)).ravel()
        springs, stiff = self._grips()
        values = np.concatenate([total.ravel(), stiff])
        at = (np.concatenate([rows, springs]), np.concatenate([columns, springs]))
        return coo_matrix((values, at)).tocsr()

    def _grips(self) -> tuple[np.ndarray, np.ndarray]:
        """Freedoms along the rods and how stiffly each is held."""
        springs, stiff = [], []
        for side, nodes in self._edges.items():
            at = self._lines[0 if side in ("near", "far") else 1][self._under(side)]
            springs.append(2 * nodes + (0 if side in ("near", "far") else 1))
            stiff.append(self.grip * np.gradient(at))
        return np.concatenate(springs), np.concatenate(stiff)

    def _under(self, side: str) -> np.ndarray:
        """Which grid lines end under a rod."""
        lines = self._lines[0 if side in ("near", "far") else 1]
        return (lines > self.gap_mm - 1e-3) & (lines < lines[-1] - self.gap_mm + 1e-3)

    @cached_property
    def _edges(self) -> dict[str, np.ndarray]:
        """Nodes under each rod."""
        xs, ys = self._lines
        node = np.arange(len(xs) * len(ys)).reshape(len(xs), len(ys))
        in_x, in_y = self._under("near"), self._under("left")
        return {
            "near": node[in_x, 0],
            "far": node[in_x, -1],
            "left": node[0, in_y],
            "right": node[-1, in_y],
        }

    @cached_property
    def _free(self) -> np.ndarray:
        xs, ys = self._lines
        free = np.ones(2 * len(xs) * len(ys), dtype=bool)
        for side, nodes in self._edges.items():
            free[2 * nodes + (1 if side in ("near", "far") else 0)] = False
        return free

    def _prescribed(self, load: str) -> np.ndarray:
        xs, ys = self._lines
        moved = np.zeros(2 * len(xs) * len(ys))
        x, y = (g.ravel() for g in np.meshgrid(xs, ys, indexing="ij"))
        if load in SIDES:
            nodes = self._edges[load]
            column = 0 if load in ("left", "right") else 1
            moved[2 * nodes + column] = 1.0 if load in ("far", "right") else -1.0
            return moved
        fore_aft, across = load.split()
        corner = (
            self.width_mm if across == "right" else 0.0,
            self.depth_mm if fore_aft == "far" else 0.0,
        )
        for side, column, along in ((fore_aft, 1, x), (across, 0, y)):
            nodes = self._edges[side]
            away = np.abs(along[nodes] - corner[0 if column == 1 else 1])
            eased = np.maximum(1 - away / RELIEF_REACH_MM, 0.0)
            moved[2 * nodes + column] = -eased if side in ("far", "right") else eased
        return moved

    def _over(self, x: float, y: float, half_x: float, half_y: float) -> np.ndarray:
        x0, x1, y0, y1 = self._cells.T
        wide = np.clip(np.minimum(x1, x + half_x) - np.maximum(x0, x - half_x), 0, None)
        high = np.clip(np.minimum(y1, y + half_y) - np.maximum(y0, y - half_y), 0, None)
        area = wide * high
        return area / area.sum()


def _graded(length_mm: float, gap_mm: float) -> np.ndarray:
    """Grid lines: 2.5 mm by the rod's end, coarser inwards, the end of the rod on a line."""
    sizes = [5.0] * int(np.ceil((gap_mm + 10) / 5.0))
    while sum(sizes) < length_mm / 2 - 20 and sizes[-1] < 30:
        sizes.append(sizes[-1] * 1.35)
    ends = np.cumsum([0, *sizes])
    if gap_mm > 0:
        nearest = int(np.argmin(np.abs(ends - gap_mm)))
        ends[nearest] = gap_mm
    left = length_mm - 2 * ends[-1]
    middle = ends[-1] + np.linspace(0, left, max(2, int(np.ceil(left / 30)) + 1))[1:-1]
    return np.concatenate([ends, middle, length_mm - ends[::-1]])


_GRADIENT = np.array(
    [
        [-0.5, 0, 0.5, 0, 0.5, 0, -0.5, 0],
        [0, -0.5, 0, -0.5, 0, 0.5, 0, 0.5],
        [-0.5, 0, -0.5, 0, 0.5, 0, 0.5, 0],
        [0, -0.5, 0, 0.5, 0, 0.5, 0, -0.5],
    ]
)
