"""A sheet of mesh pulled by four rods: orthotropic plane stress by finite elements.

    Tw = C11 ew + C12 ef,  Tf = C12 ew + C22 ef,  Twf = G gamma
    C11 = Ew / (1 - nwf nfw), C22 = Ef / (1 - nwf nfw), C12 = nfw C11, nfw = nwf Ef / Ew

(equations from a civil-engineering text on biaxial testing of fabrics). Small strains, linear.
Plane stress may be inappropriate for fabrics, whose crimp moves from one set to the other
(Bridgens, Gosling, Birchall 2004, abstract); nothing here was checked on real mesh.

x runs along the weft (left to right), y along the warp (near to far). Lengths mm, tensions and
stiffnesses N/cm. Bilinear elements on a rectangular grid; rods hold all threads that cross them;
between the end of a rod and the corner an edge is free.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import splu

Array = npt.NDArray[Any]
_GAUSS = 3**-0.5


@dataclass(frozen=True, slots=True)
class Weave:
    """Stiffness of cloth."""

    warp_n_cm: float
    """Ew."""
    weft_n_cm: float
    """Ef."""
    poisson: float
    """nwf."""
    shear_n_cm: float
    """G."""
    lean_rad: float = 0.0
    """How far the threads lean off square to the rods."""

    @property
    def matrix(self) -> Array:
        """Tension (x, y, shear) for strain (x, y, engineering shear)."""
        back = self.poisson * self.weft_n_cm / self.warp_n_cm
        held = 1 - self.poisson * back
        c11, c22 = self.warp_n_cm / held, self.weft_n_cm / held
        square = np.array([[c22, back * c11, 0], [back * c11, c11, 0], [0, 0, self.shear_n_cm]])
        c, s = np.cos(self.lean_rad), np.sin(self.lean_rad)
        turn = np.array(
            [[c * c, s * s, c * s], [s * s, c * c, -c * s], [-2 * c * s, 2 * c * s, c * c - s * s]]
        )
        turned: Array = turn.T @ square @ turn
        return turned


Moved = Callable[[Array, Array], tuple[Array, Array]]
"""Displacement x and y, mm, of held points at x and y."""


@dataclass(frozen=True, slots=True, eq=False)
class Field:
    """Tension all over the sheet, the same within an element."""

    x_mm: Array
    """Grid lines."""
    y_mm: Array
    tension: Array
    """Of each element; first axis y, last: across (x), along (y), shear."""

    def gauged(self, x_mm: float, y_mm: float, wide_mm: float = 80, deep_mm: float = 60) -> Array:
        """Mean over the foot of a gauge that covers some of the mesh, across and along."""
        under_x = _under(self.x_mm, x_mm, wide_mm)
        under_y = _under(self.y_mm, y_mm, deep_mm)
        mean: Array = np.einsum("y,x,yxk->k", under_y, under_x, self.tension[..., :2])
        return mean


def _under(lines: Array, at: float, wide: float) -> Array:
    """Which share of a foot lies between each two grid lines."""
    covered = np.diff(np.clip(lines, at - wide / 2, at + wide / 2))
    share: Array = covered / covered.sum()
    return share


def pulled(weave: Weave, x_mm: Array, y_mm: Array, held: Array, moved: Moved) -> Field:
    """The sheet when the held nodes have been moved.

    Args:
        weave: stiffness.
        x_mm: grid lines, rising.
        y_mm: grid lines, rising.
        held: which nodes are held, one row a y line.
        moved: where they are moved to.
    """
    nx, ny = len(x_mm), len(y_mm)
    node = np.arange(nx * ny).reshape(ny, nx)
    corners = np.stack(
        [node[:-1, :-1], node[:-1, 1:], node[1:, 1:], node[1:, :-1]], axis=-1
    ).reshape(-1, 4)
    dofs = np.stack([2 * corners, 2 * corners + 1], axis=-1).reshape(-1, 8)
    wide = np.tile(np.diff(x_mm), ny - 1)
    deep = np.repeat(np.diff(y_mm), nx - 1)
    stiffness = _element_stiffness(weave.matrix, wide, deep)
    rows, columns = np.repeat(dofs, 8, axis=1), np.tile(dofs, (1, 8))
    whole = coo_matrix(
        (stiffness.reshape(-1), (rows.reshape(-1), columns.reshape(-1))), shape=(2 * nx * ny,) * 2
    ).tocsc()
    u = np.zeros(2 * nx * ny)
    at_x, at_y = np.meshgrid(x_mm, y_mm)
    fixed = np.flatnonzero(held.reshape(-1))
    ux, uy = moved(at_x.reshape(-1)[fixed], at_y.reshape(-1)[fixed])
    u[2 * fixed], u[2 * fixed + 1] = ux, uy
    known = np.zeros(2 * nx * ny, dtype=bool)
    known[2 * fixed] = known[2 * fixed + 1] = True
    free = np.flatnonzero(~known)
    if len(free):
        pushed = -whole[free][:, np.flatnonzero(known)] @ u[known]
        u[free] = splu(whole[free][:, free]).solve(pushed)
    strain = np.einsum("esd,ed->es", _strain_matrix(wide, deep, 0.0, 0.0), u[dofs])
    tension = strain @ weave.matrix.T
    return Field(x_mm, y_mm, tension.reshape(ny - 1, nx - 1, 3))


def _strain_matrix(wide: Array, deep: Array, s: float, t: float) -> Array:
    """Strain (x, y, shear) for the eight displacements of each element at a point, -1 to 1."""
    ds = np.array([-(1 - t), 1 - t, 1 + t, -(1 + t)]) / 4
    dt = np.array([-(1 - s), -(1 + s), 1 + s, 1 - s]) / 4
    dx, dy = ds[None] * 2 / wide[:, None], dt[None] * 2 / deep[:, None]
    b = np.zeros((len(wide), 3, 8))
    b[:, 0, 0::2], b[:, 1, 1::2] = dx, dy
    b[:, 2, 0::2], b[:, 2, 1::2] = dy, dx
    return b


def _element_stiffness(matrix: Array, wide: Array, deep: Array) -> Array:
    total = np.zeros((len(wide), 8, 8))
    for s in (-_GAUSS, _GAUSS):
        for t in (-_GAUSS, _GAUSS):
            b = _strain_matrix(wide, deep, s, t)
            total += np.einsum("eik,ij,ejl->ekl", b, matrix, b)
    stiffness: Array = total * (wide * deep / 4)[:, None, None]
    return stiffness
