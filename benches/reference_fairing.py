"""Fairing a hull with NumPy and SciPy: what a script would do, and an independent check of scrieve's own.

Places are told by t, the way from the stem to the transom or sternpost at their own height. Between rabbet
and sheer the hull is turned by 45 degrees, so that it becomes one scalar w (its bulge off the chord) over v
(the way along the chord); w(t, v) is a Gaussian process, Matérn 9/2, whose parameters come from restricted
maximum likelihood (Rasmussen and Williams, "Gaussian Processes for Machine Learning", 2006, sections 2.7
and 5.4). Rabbet and sheer are the same in one dimension. Round bilges only: no chines.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from scipy.interpolate import RectBivariateSpline
from scipy.linalg import cho_factor, cho_solve
from scipy.linalg.lapack import dpotri
from scipy.optimize import minimize

if TYPE_CHECKING:
    from reference_offsets import Survey

# Rounds of taking the noise of w from the slope of the last fit; the third moves nothing by 0.02 mm.
ROUNDS = 3
# Steepest slope of w that noise is taken from, and the least part of a reading's noise that w feels.
STEEPEST, LEAST = 0.95, 0.15
# A spot whose leave-one-out residual is over this many of its own deviations is left out as a slip.
SLIP = 5.0
# Below this a residual counts for little: fixed parameters know no hull so well, m.
SMALL, SMALL_COUNTS = 6e-3, 0.3
# Spots outside these bounds are nowhere near any section.
V_BOUNDS, W_BOUND = (-0.04, 1.06), 0.62
# The grid the posterior mean is carried over to; doubling it moves no point of a small boat by 0.01 mm.
GRID_T, GRID_V = 90, 60
# A spot where the hull is no wider than this, beyond the half-siding, says nothing of its shape, m.
NO_BREADTH = 5e-3
# Steps of finding t from x.
LEANING_STEPS = 4
# Small constant that keeps factorisations safe, as a part of the variance.
JITTER = 1e-10


class Parameters:
    """Of the field: log a1, log lx, log lv, log a2, log l2, alpha, beta1, beta2."""

    START = np.concatenate([np.log([0.031, 0.45, 0.39, 0.072, 1.9]), [1.43, -0.25, -0.58]])
    # Judging slips needs parameters that slips have not swollen.
    FIXED = np.concatenate([np.log([0.06, 0.5, 0.45, 0.1, 1.2]), [1.43, -0.25, -0.58]])
    SPREAD = np.array([1.0, 0.7, 0.7, 1.0, 0.7, 1.0, 0.6, 0.6])
    BOUNDS = ((-7, 0), (-2.5, 1.5), (-2.5, 1.5), (-7, 1), (-1, 2.5), (-1, 6), (-0.8, 0.8), (-1.5, 1.5))


def matern(s: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Matérn 9/2 at s = 3 |distance| / length, and -(dM/ds) / s."""
    e = np.exp(-s)
    return (
        (1 + s * (1 + s * (3 / 7 + s * (2 / 21 + s / 105)))) * e,
        (15 + s * (15 + s * (6 + s))) * (e / 105),
    )


def bend(t: np.ndarray, alpha: float) -> tuple[np.ndarray, np.ndarray]:
    """The warped way along the boat, quicker at the bow for alpha over 0, and its derivative by alpha."""
    if abs(alpha) < 1e-3:
        return t + 0.5 * alpha * t * (1 - t), 0.5 * t * (1 - t)
    e, whole = np.exp(-alpha * t), -np.expm1(-alpha)
    xi = -np.expm1(-alpha * t) / whole
    return xi, (t * e - xi * np.exp(-alpha)) / whole


class Fit(NamedTuple):
    """A Gaussian process with a flat prior on its mean, factored."""

    weights: np.ndarray
    mean: np.ndarray
    projected: np.ndarray  # P of the leave-one-out formulae
    cost: float
    inverse_basis: np.ndarray  # K⁻¹F (F'K⁻¹F)⁻¹

    @property
    def left_out(self) -> tuple[np.ndarray, np.ndarray]:
        """Residual of each datum from the fit to all the others, and its standard deviation."""
        diagonal = np.diag(self.projected)
        return self.weights / diagonal, diagonal**-0.5


def fit(kernel: np.ndarray, basis: np.ndarray, data: np.ndarray) -> Fit:
    """Generalised least squares; `kernel` includes the noise.

    `cost` is the negative logarithm of the restricted likelihood.
    """
    lower = cho_factor(kernel, lower=True, overwrite_a=True, check_finite=False)
    inverse, _ = dpotri(lower[0], lower=1)
    inverse = np.tril(inverse) + np.tril(inverse, -1).T
    solved = inverse @ basis
    normal = cho_factor(basis.T @ solved, lower=True, check_finite=False)
    inverse_basis = cho_solve(normal, solved.T, check_finite=False).T
    projected = inverse - inverse_basis @ solved.T
    weights = projected @ data
    cost = 0.5 * data @ weights + np.log(np.diag(lower[0])).sum() + np.log(np.diag(normal[0])).sum()
    return Fit(weights, inverse_basis.T @ data, projected, cost, inverse_basis)


class Line:
    """A reference line as a one-dimensional Gaussian process over t from 0 to 1."""

    # log amplitude, log length, alpha: what is expected, how firmly, and within what.
    EXPECTED, SPREAD = np.array([np.log(0.05), np.log(0.8), 1.0]), np.array([2.0, 0.7, 1.0])
    BOUNDS = ((-9, 2), (-2, 2), (-1, 6))
    # Parameters slips are judged with: amplitude as a part of the line's own range, length, warps tried.
    JUDGED = (0.3, 0.5, (0.0, 1.5))
    # Readings fewer than this are all believed.
    FEWEST = 6

    def __init__(self, t: np.ndarray, value: np.ndarray, sd: np.ndarray) -> None:
        self.good = self._without_slips(t, value, sd)
        self.t, self.value, self.noise = t[self.good], value[self.good], sd[self.good] ** 2
        best = minimize(
            self._cost,
            self.EXPECTED,
            jac=True,
            method="L-BFGS-B",
            bounds=self.BOUNDS,
            options={"maxiter": 60},
        )
        self.parameters = best.x
        self.fit = fit(self._kernel(best.x)[0], self._basis(self.t, best.x[2]), self.value)

    @staticmethod
    def _basis(t: np.ndarray, alpha: float) -> np.ndarray:
        return np.vander(bend(t, alpha)[0], 3, increasing=True)

    def _kernel(self, parameters: np.ndarray) -> tuple[np.ndarray, ...]:
        xi, _ = bend(self.t, parameters[2])
        apart = xi[:, None] - xi
        s = 3 * np.abs(apart) / np.exp(parameters[1])
        m, slope = matern(s)
        square = np.exp(2 * parameters[0])
        kernel = square * m
        kernel[np.diag_indices_from(kernel)] += self.noise + JITTER * square
        return kernel, square * m, s, square * slope, apart

    def _cost(self, parameters: np.ndarray) -> tuple[float, np.ndarray]:
        kernel, smooth, s, slope, apart = self._kernel(parameters)
        xi, by_alpha = bend(self.t, parameters[2])
        basis = self._basis(self.t, parameters[2])
        got = fit(kernel, basis, self.value)
        g = 0.5 * (got.projected - np.outer(got.weights, got.weights))
        moved = g * slope * (-9 / np.exp(2 * parameters[1])) * apart
        basis_moved = np.outer(by_alpha, [0.0, 1.0, 0.0]) + np.outer(2 * xi * by_alpha, [0.0, 0.0, 1.0])
        gradient = np.array(
            [
                2 * (g * smooth).sum(),
                (g * s**2 * slope).sum(),
                2 * moved.sum(axis=1) @ by_alpha
                + (got.inverse_basis * basis_moved).sum()
                - got.weights @ basis_moved @ got.mean,
            ]
        )
        off = (parameters - self.EXPECTED) / self.SPREAD
        return got.cost + 0.5 * off @ off, gradient + off / self.SPREAD

    @classmethod
    def _without_slips(cls, t: np.ndarray, value: np.ndarray, sd: np.ndarray) -> np.ndarray:
        amplitude, length, warps = cls.JUDGED
        good = np.ones(len(t), bool)
        while good.sum() > cls.FEWEST:
            scores = []
            for alpha in warps:
                xi, _ = bend(t[good], alpha)
                square = (amplitude * np.ptp(value[good])) ** 2
                kernel = square * matern(3 * np.abs(xi[:, None] - xi) / length)[0]
                got = fit(kernel + np.diag(sd[good] ** 2), cls._basis(t[good], alpha), value[good])
                scores.append(_score(*got.left_out))
            score = np.min(scores, axis=0)
            # At the ends nothing lies beyond to judge by.
            score[[0, -1]] *= 0.5
            if score.max() < SLIP:
                break
            good[np.flatnonzero(good)[score.argmax()]] = False
        return good

    def __call__(self, t: np.ndarray) -> np.ndarray:
        """The line at t."""
        amplitude, length, alpha = self.parameters
        apart = bend(np.asarray(t, float), alpha)[0][:, None] - bend(self.t, alpha)[0]
        kernel = np.exp(2 * amplitude) * matern(3 * np.abs(apart) / np.exp(length))[0]
        return kernel @ self.fit.weights + self._basis(np.asarray(t, float), alpha) @ self.fit.mean


def _score(residual: np.ndarray, sd: np.ndarray) -> np.ndarray:
    size = np.abs(residual)
    return np.where(size < SMALL, SMALL_COUNTS * size, size) / sd


class Bulge:
    """The field w(t, v) as a Gaussian process."""

    def __init__(self, t: np.ndarray, v: np.ndarray, w: np.ndarray) -> None:
        self.t, self.v, self.w = t, v, w
        self.parameters = Parameters.START
        self.basis = self._basis(t, v)

    @staticmethod
    def _basis(t: np.ndarray, v: np.ndarray) -> np.ndarray:
        powers = np.vander(t, 3, increasing=True)[:, :, None] * np.vander(v, 3, increasing=True)[:, None, :]
        return powers.reshape(len(t), 9)

    @staticmethod
    def _along(v: np.ndarray, parameters: np.ndarray) -> np.ndarray:
        return v + parameters[6] * v * (1 - v) + parameters[7] * v * (1 - v) * (v - 0.5)

    def settle(self, noise: np.ndarray) -> None:
        """Finds the parameters for this variance of each datum, from the last ones found."""
        best = minimize(
            self._cost,
            self.parameters,
            args=(noise,),
            jac=True,
            method="L-BFGS-B",
            bounds=Parameters.BOUNDS,
            options={"maxiter": 80, "ftol": 1e-8},
        )
        self.parameters = best.x
        self.condition(best.x, noise)

    def condition(self, parameters: np.ndarray, noise: np.ndarray) -> None:
        """Fits the field with these parameters."""
        self.parameters = parameters
        self.fit = fit(self._kernel(parameters, noise)[0], self.basis, self.w)

    def _kernel(self, parameters: np.ndarray, noise: np.ndarray) -> tuple:
        a1, lx, lv, a2, l2 = np.exp(parameters[:5])
        xi, place = bend(self.t, parameters[5])[0], self._along(self.v, parameters)
        dx, dv = xi[:, None] - xi, place[:, None] - place
        far = np.abs(dv)
        scaled = (3 / lx) * np.abs(dx), (3 / lv) * far, (3 / l2) * far
        x, v, broad = (matern(s) for s in scaled)
        kernel = a1**2 * x[0] * v[0] + a2**2 * broad[0]
        kernel[np.diag_indices_from(kernel)] += noise + JITTER * (a1**2 + a2**2)
        return kernel, scaled, x, v, broad, dx, dv

    def _cost(self, parameters: np.ndarray, noise: np.ndarray) -> tuple[float, np.ndarray]:
        kernel, (sx, sv, s2), x, v, broad, dx, dv = self._kernel(parameters, noise)
        got = fit(kernel, self.basis, self.w)
        g = 0.5 * (got.projected - np.outer(got.weights, got.weights))
        a1, lx, lv, a2, l2 = np.exp(parameters[:5])
        both, wide = a1**2 * g, a2**2 * g
        by_x, by_v = both * v[0] * x[1], both * x[0] * v[1]
        by_broad = wide * broad[1]
        # A distance is a difference of two places, so moving the places needs only sums over rows.
        moved_x = (-18 / lx**2) * (by_x * dx).sum(axis=1)
        moved_v = ((-18 / lv**2 * by_v - 18 / l2**2 * by_broad) * dv).sum(axis=1)
        bump = self.v * (1 - self.v)
        gradient = np.array(
            [
                2 * np.vdot(both, x[0] * v[0]),
                np.vdot(by_x, sx**2),
                np.vdot(by_v, sv**2),
                2 * np.vdot(wide, broad[0]),
                np.vdot(by_broad, s2**2),
                moved_x @ bend(self.t, parameters[5])[1],
                moved_v @ bump,
                moved_v @ (bump * (self.v - 0.5)),
            ]
        )
        off = (parameters - Parameters.START) / Parameters.SPREAD
        return got.cost + 0.5 * off @ off, gradient + off / Parameters.SPREAD

    def _cross(self, t: np.ndarray, v: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        lx, lv, l2 = np.exp(self.parameters[[1, 2, 4]])
        alpha = self.parameters[5]
        dx = np.abs(bend(t, alpha)[0][:, None] - bend(self.t, alpha)[0])
        dv = np.abs(self._along(v, self.parameters)[:, None] - self._along(self.v, self.parameters))
        return matern(3 / lx * dx)[0], matern(3 / lv * dv)[0], matern(3 / l2 * dv)[0]

    def __call__(self, t: np.ndarray, v: np.ndarray) -> np.ndarray:
        """w at the pairs (t, v)."""
        a1, a2 = np.exp(self.parameters[[0, 3]])
        x, along, broad = self._cross(t, v)
        return (a1**2 * x * along + a2**2 * broad) @ self.fit.weights + self._basis(t, v) @ self.fit.mean

    def grid(self, t: np.ndarray, v: np.ndarray) -> np.ndarray:
        """w at every t with every v: (len(t), len(v)). The kernel is a product, so this is two small ones."""
        a1, a2 = np.exp(self.parameters[[0, 3]])
        x, along, broad = self._cross(t, v)
        powers_t, powers_v = np.vander(t, 3, increasing=True), np.vander(v, 3, increasing=True)
        mean = powers_t @ self.fit.mean.reshape(3, 3) @ powers_v.T
        return a1**2 * (x * self.fit.weights) @ along.T + a2**2 * (broad @ self.fit.weights) + mean

    def slope(self) -> np.ndarray:
        """dw/dv at the data."""
        h = 1e-4
        return (self(self.t, self.v + h) - self(self.t, self.v - h)) / (2 * h)


class Ends:
    """Where the hull begins and ends at a height, m: stem and stern profiles, or a transom's plane."""

    def __init__(self, stem: np.ndarray, stern: np.ndarray, transom: tuple | None, first: float, last: float) -> None:
        self.fore = self._profile(stem, first)
        self.aft = self._profile(stern, last)
        if transom is not None:
            x0, z0, rake = transom
            self.aft = lambda z: x0 + (z - z0) * rake

    @staticmethod
    def _profile(spots: np.ndarray, plumb: float) -> Callable[[np.ndarray], np.ndarray]:
        if not len(spots):
            return lambda z: np.full(np.shape(z), plumb)
        x, z, sd = spots[spots[:, 1].argsort()[::-1]].T
        top, depth = z[0], np.ptp(z)
        # Both co-ordinates are read, so a slanting profile is less sure than either.
        slope = np.gradient(x, z)
        line = Line((top - z) / depth, x, sd * np.hypot(1, slope))
        return lambda z: line((top - np.ravel(z)) / depth).reshape(np.shape(z))

    def along(self, x: np.ndarray, z: np.ndarray) -> np.ndarray:
        """How far along the hull (x, z) lies at its own height: 0 on the stem, 1 on transom or sternpost."""
        fore = self.fore(z)
        return (x - fore) / (self.aft(z) - fore)


@dataclass
class Hull:
    """A faired hull over (t, v): t from 0 on the stem to 1 aft, v from 0 at the rabbet to 1 at the sheer."""

    y: RectBivariateSpline
    z: RectBivariateSpline
    x: RectBivariateSpline
    slips: np.ndarray  # indices of the spots left out

    def at(self, x: float | np.ndarray, v: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """t, y and z of the points at x and v, m."""
        x, v = np.broadcast_arrays(np.asarray(x, float), v)
        low, high = self.x.ev(0.0, v), self.x.ev(1.0, v)
        t = (x - low) / (high - low)
        # The planes t = constant lean only as stem and transom do: each step gains two digits or more.
        for _ in range(LEANING_STEPS):
            t = np.clip(t + (x - self.x.ev(t, v)) / (high - low), 0, 1)
        return t, self.y.ev(t, v), self.z.ev(t, v)

    def lowest(self, x: float) -> float:
        """v at which the section at x begins: over 0 where it springs from stem, sternpost or transom."""
        v = np.linspace(0, 1, 200)
        for end, outside in ((0.0, np.less), (1.0, np.greater)):
            profile = self.x.ev(end, v)
            if outside(x, profile[0]):
                order = profile.argsort()
                return float(np.interp(x, profile[order], v[order]))
        return 0.0

    def section(self, x: float, n: int = 200) -> np.ndarray:
        """`n` points (y, z) of the section at x, from rabbet to sheer."""
        _, y, z = self.at(x, np.linspace(self.lowest(x), 1, n))
        return np.column_stack([y, z])


def fair(
    x: np.ndarray,
    y: np.ndarray,
    z: np.ndarray,
    direction: np.ndarray,
    sd: np.ndarray,
    *,
    rabbet: np.ndarray,
    sheer: np.ndarray,
    half_siding: float,
    stem: np.ndarray,
    stern: np.ndarray,
    transom: tuple[float, float, float] | None = None,
) -> Hull:
    """Fairs spots (x, y, z) measured along unit directions (y, z), (0, 0) where both, with deviations `sd`.

    `rabbet` and `sheer` are rows of x, y, z, sd; `stem` and `stern` rows of x, z, sd of a profile, head
    first, or empty; `transom` is x and z of its foot and how far aft it goes for each metre up. All in
    metres.
    """

    def springs(profile: np.ndarray, side: int) -> np.ndarray:
        """Rabbet readings beyond the foot of a profile belong to that profile."""
        return side * (rabbet[:, 0] - profile[-1, 0]) < 0 if len(profile) else np.zeros(len(rabbet), bool)

    on_stem, on_stern = springs(stem, 1), springs(stern, -1)
    first, last = min(x.min(), sheer[:, 0].min()), max(x.max(), sheer[:, 0].max())
    ends = Ends(
        np.vstack([stem, rabbet[on_stem][:, [0, 2, 3]]]),
        np.vstack([stern, rabbet[on_stern][:, [0, 2, 3]]]),
        transom, first, last,
    )  # fmt: skip
    lower, upper = rabbet[~on_stem & ~on_stern], sheer
    at_lower, at_upper = (ends.along(line[:, 0], line[:, 2]) for line in (lower, upper))
    for profile, end in ((stem, 0), (stern, 1)):
        if len(profile):
            # The reference lines end on the profile, where the half-breadth is the half-siding.
            (x0, z0, sd0), (x1, z1, sd1) = profile[0], profile[-1]
            place = len(at_lower) * end, len(at_upper) * end
            lower = np.insert(lower, place[0], (x1, half_siding, z1, sd1), axis=0)
            upper = np.insert(upper, place[1], (x0, half_siding, z0, sd0), axis=0)
            at_lower, at_upper = np.insert(at_lower, place[0], end), np.insert(at_upper, place[1], end)
    k = Line(at_lower, lower[:, 2], lower[:, 3])
    ys = Line(at_upper, upper[:, 1], upper[:, 3])
    zs = Line(at_upper, upper[:, 2], upper[:, 3])

    # Rabbet and sheer are spots too: there w is near 0, and their noise is known.
    lower, upper = lower[k.good], upper[ys.good & zs.good]
    spots = np.column_stack([x, y, z, sd])
    x, y, z, sd = np.vstack([spots, lower, upper]).T
    direction = np.vstack([direction, np.tile((0.0, 1.0), (len(lower), 1)), np.zeros((len(upper), 2))])

    t = ends.along(x, z)
    low, breadth, depth = k(t), ys(t) - half_siding, zs(t) - k(t)
    told = breadth > NO_BREADTH
    x, y, z, sd, t, low, breadth, depth = (a[told] for a in (x, y, z, sd, t, low, breadth, depth))
    direction = direction[told]
    eta, zeta = (y - half_siding) / breadth, (z - low) / depth
    v, w = (eta + zeta) / 2, (eta - zeta) / 2
    out, rise = sd / breadth, sd / depth

    def noise(slope: np.ndarray) -> np.ndarray:
        p = np.clip(slope, -STEEPEST, STEEPEST)
        a, b = out * np.maximum(1 - p, LEAST), rise * np.maximum(1 + p, LEAST)
        along_line = direction[:, 0] * a - direction[:, 1] * b
        return 0.25 * np.where((direction == 0).all(axis=1), a**2 + b**2, along_line**2)

    wild = (v < V_BOUNDS[0]) | (v > V_BOUNDS[1]) | (np.abs(w) > W_BOUND)
    good, slope = _without_slips(t, v, w, noise, ~wild, np.maximum(out, rise) / sd)
    field = Bulge(t[good], v[good], w[good])
    for _ in range(ROUNDS):
        field.settle(noise(slope)[good])
        slope[good] = field.slope()

    at, over = np.linspace(0, 1, GRID_T), np.linspace(0, 1, GRID_V)
    bulge = field.grid(at, over)
    half, low, deep = ys(at) - half_siding, k(at), zs(at) - k(at)
    y_grid = half_siding + half[:, None] * (over + bulge)
    z_grid = low[:, None] + deep[:, None] * (over - bulge)
    fore = ends.fore(z_grid)
    x_grid = fore + at[:, None] * (ends.aft(z_grid) - fore)
    y_of, z_of, x_of = (RectBivariateSpline(at, over, g, kx=5, ky=5) for g in (y_grid, z_grid, x_grid))
    kept = np.zeros(len(told), bool)
    kept[told] = good
    return Hull(y_of, z_of, x_of, np.flatnonzero(~kept[: len(spots)]))


def _without_slips(
    t: np.ndarray, v: np.ndarray, w: np.ndarray, noise: Callable, good: np.ndarray, per_metre: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Leaves out the worst spot and fits again until none stands out; gives what is left, and dw/dv.

    Parameters stay fixed throughout: fitted with slips among the data they would be swollen, and hide them.
    """
    slope = np.zeros(len(t))
    rounds = 0
    while True:
        field = Bulge(t[good], v[good], w[good])
        field.condition(Parameters.FIXED, noise(slope)[good])
        if rounds < 2:
            slope[good] = field.slope()
            rounds += 1
            continue
        residual, sd = field.fit.left_out
        score = np.abs(residual) / sd
        score[np.abs(residual) < SMALL * per_metre[good]] *= SMALL_COUNTS
        if score.max() < SLIP:
            return good, slope
        good[np.flatnonzero(good)[score.argmax()]] = False


def fair_survey(survey: Survey) -> Hull:
    """Fairs what `reference_offsets.read` gives."""
    s = survey
    sd = np.median(s.sd)
    stem, stern = (np.column_stack([p[:, 0], p[:, 1], np.full(len(p), sd)]) for p in (s.stem, s.stern))
    return fair(
        s.x, s.y, s.z, s.direction, s.sd,
        rabbet=s.rabbet, sheer=s.sheer, half_siding=s.half_siding, stem=stem, stern=stern, transom=s.transom,
    )  # fmt: skip
