"""What a network is: nodes, tubes, outlets, one source, one liquid. Plain arrays, SI.

Sources
-------
.. [1] Darcy-Weisbach, as in White, F. M., Fluid Mechanics, chapter 6.
.. [2] Hooper, W. B. (1981). The two-K method predicts head losses in pipe fittings. Chem. Eng., 24 Aug.,
   96-100.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, TypeGuard

import numpy as np
from numpy.typing import ArrayLike, NDArray

from estimator.hydraulics.friction import FloatArray, rough_scale
from estimator.hydraulics.network_errors import NetworkInputError

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

GRAVITY_M_S2: Final = 9.80665
"""Standard acceleration of gravity [m/s2], exact by definition (CGPM 1901)."""


@dataclass(frozen=True, eq=False, slots=True)
class Network:
    """One product line. Make it with :meth:`build`, which checks every field.

    Shapes: nodes (n,), tubes (t,), outlets (o,). ``coil_diameter_m`` is 0 for a straight tube. The loss of a
    tube is friction plus ``(minor_k1/Re + minor_k) rho V**2/2``. An outlet passes
    ``q = coefficient sqrt(p)``, p gauge pressure at its node [Pa], coefficient [m3/(s Pa**0.5)]. The source
    holds ``p = source_pressure_pa - source_linear q - source_quadratic q**2``.
    """

    elevation_m: FloatArray
    tube_from: IntArray
    tube_to: IntArray
    length_m: FloatArray
    bore_m: FloatArray
    roughness_m: FloatArray
    minor_k: FloatArray
    minor_k1: FloatArray
    coil_diameter_m: FloatArray
    tube_closed: BoolArray
    outlet_node: IntArray
    outlet_coefficient: FloatArray
    source_node: int
    source_pressure_pa: float
    source_linear_pa_s_m3: float
    source_quadratic_pa_s2_m6: float
    density_kg_m3: float
    viscosity_pa_s: float

    @classmethod
    def build(
        cls,
        *,
        elevation_m: ArrayLike,
        tube_from: ArrayLike,
        tube_to: ArrayLike,
        length_m: ArrayLike,
        bore_m: ArrayLike,
        roughness_m: ArrayLike = 1.5e-6,
        minor_k: ArrayLike = 0.0,
        minor_k1: ArrayLike = 0.0,
        coil_diameter_m: ArrayLike = 0.0,
        tube_closed: ArrayLike = False,
        outlet_node: ArrayLike,
        outlet_coefficient: ArrayLike,
        source_node: int = 0,
        source_pressure_pa: float,
        source_linear_pa_s_m3: float = 0.0,
        source_quadratic_pa_s2_m6: float = 0.0,
        density_kg_m3: float,
        viscosity_pa_s: float,
    ) -> Network:
        """Check and copy everything. A single number stands for all tubes (or outlets).

        Raises :class:`NetworkInputError` naming the field and row.
        """
        elevation = _floats("elevation_m", elevation_m, None)
        start = _indices("tube_from", tube_from, None, elevation.size)
        tubes, outlets = start.size, np.asarray(outlet_node).size
        made = cls(
            elevation_m=elevation,
            tube_from=start,
            tube_to=_indices("tube_to", tube_to, tubes, elevation.size),
            length_m=_floats("length_m", length_m, tubes),
            bore_m=_floats("bore_m", bore_m, tubes),
            roughness_m=_floats("roughness_m", roughness_m, tubes),
            minor_k=_floats("minor_k", minor_k, tubes),
            minor_k1=_floats("minor_k1", minor_k1, tubes),
            coil_diameter_m=_floats("coil_diameter_m", coil_diameter_m, tubes),
            tube_closed=_flags("tube_closed", tube_closed, tubes),
            outlet_node=_indices("outlet_node", outlet_node, outlets, elevation.size),
            outlet_coefficient=_floats("outlet_coefficient", outlet_coefficient, outlets),
            source_node=int(source_node),
            source_pressure_pa=float(source_pressure_pa),
            source_linear_pa_s_m3=float(source_linear_pa_s_m3),
            source_quadratic_pa_s2_m6=float(source_quadratic_pa_s2_m6),
            density_kg_m3=float(density_kg_m3),
            viscosity_pa_s=float(viscosity_pa_s),
        )
        made.check()
        return made

    def resized(
        self,
        *,
        length_m: ArrayLike | None = None,
        bore_m: ArrayLike | None = None,
        roughness_m: ArrayLike | None = None,
        minor_k: ArrayLike | None = None,
        minor_k1: ArrayLike | None = None,
        coil_diameter_m: ArrayLike | None = None,
        outlet_coefficient: ArrayLike | None = None,
        source_pressure_pa: float | None = None,
        source_linear_pa_s_m3: float | None = None,
        source_quadratic_pa_s2_m6: float | None = None,
        density_kg_m3: float | None = None,
        viscosity_pa_s: float | None = None,
    ) -> Network:
        """The same layout with other sizes; what is not given stays. Raises :class:`NetworkInputError`."""
        t, o = self.tube_from.size, self.outlet_node.size

        def pick(field: str, value: ArrayLike | None, old: FloatArray, size: int) -> FloatArray:
            return old if value is None else _floats(field, value, size)

        def one(value: float | None, old: float) -> float:
            return old if value is None else float(value)

        made = replace(
            self,
            length_m=pick("length_m", length_m, self.length_m, t),
            bore_m=pick("bore_m", bore_m, self.bore_m, t),
            roughness_m=pick("roughness_m", roughness_m, self.roughness_m, t),
            minor_k=pick("minor_k", minor_k, self.minor_k, t),
            minor_k1=pick("minor_k1", minor_k1, self.minor_k1, t),
            coil_diameter_m=pick("coil_diameter_m", coil_diameter_m, self.coil_diameter_m, t),
            outlet_coefficient=pick("outlet_coefficient", outlet_coefficient, self.outlet_coefficient, o),
            source_pressure_pa=one(source_pressure_pa, self.source_pressure_pa),
            source_linear_pa_s_m3=one(source_linear_pa_s_m3, self.source_linear_pa_s_m3),
            source_quadratic_pa_s2_m6=one(source_quadratic_pa_s2_m6, self.source_quadratic_pa_s2_m6),
            density_kg_m3=one(density_kg_m3, self.density_kg_m3),
            viscosity_pa_s=one(viscosity_pa_s, self.viscosity_pa_s),
        )
        made.check()
        return made

    def check(self) -> None:
        """Raises :class:`NetworkInputError` for a figure that no network can have."""
        if self.elevation_m.size == 0:
            raise NetworkInputError("elevation_m", "a network needs at least the node of its source")
        if not 0 <= self.source_node < self.elevation_m.size:
            raise NetworkInputError("source_node", f"{self.source_node} is not one of the nodes")
        _check_sizes(self)


@dataclass(frozen=True, eq=False, slots=True)
class Joined:
    """Lines joined, each with its own liquid: the arrays of :class:`Network`, one line after the other.

    Nodes, tubes and outlets are counted in their own line. ``first_node``, ``first_tube``, ``first_outlet``
    (lines + 1,) say where each line's begin. What a network has once is an array (lines,) here.
    """

    first_node: IntArray
    first_tube: IntArray
    first_outlet: IntArray
    elevation_m: FloatArray
    length_m: FloatArray
    bore_m: FloatArray
    roughness_m: FloatArray
    minor_k: FloatArray
    minor_k1: FloatArray
    coil_diameter_m: FloatArray
    outlet_node: IntArray
    outlet_coefficient: FloatArray
    source_node: IntArray
    source_pressure_pa: FloatArray
    source_linear_pa_s_m3: FloatArray
    source_quadratic_pa_s2_m6: FloatArray
    density_kg_m3: FloatArray
    viscosity_pa_s: FloatArray

    @property
    def lines(self) -> int:
        """How many lines."""
        return self.source_node.size

    def check(self) -> None:
        """Raises :class:`NetworkInputError` for a figure that no network can have; rows are those of the joined
        arrays."""
        for field in _SIZES:
            values = getattr(self, field)
            _reject(field, values, ~np.isfinite(values), "give finite numbers")
        _check_sizes(self)


def join(nets: Sequence[Network]) -> Joined:
    """Networks joined; at least one."""

    def firsts(counts: list[int]) -> IntArray:
        return np.concatenate(([0], np.cumsum(counts))).astype(np.int64)

    def each(field: str) -> FloatArray:
        return np.concatenate([getattr(net, field) for net in nets])

    def once(field: str) -> FloatArray:
        return np.array([getattr(net, field) for net in nets], dtype=np.float64)

    return Joined(
        first_node=firsts([net.elevation_m.size for net in nets]),
        first_tube=firsts([net.tube_from.size for net in nets]),
        first_outlet=firsts([net.outlet_node.size for net in nets]),
        elevation_m=each("elevation_m"),
        length_m=each("length_m"),
        bore_m=each("bore_m"),
        roughness_m=each("roughness_m"),
        minor_k=each("minor_k"),
        minor_k1=each("minor_k1"),
        coil_diameter_m=each("coil_diameter_m"),
        outlet_node=np.concatenate([net.outlet_node for net in nets]),
        outlet_coefficient=each("outlet_coefficient"),
        source_node=np.array([net.source_node for net in nets], dtype=np.int64),
        source_pressure_pa=once("source_pressure_pa"),
        source_linear_pa_s_m3=once("source_linear_pa_s_m3"),
        source_quadratic_pa_s2_m6=once("source_quadratic_pa_s2_m6"),
        density_kg_m3=once("density_kg_m3"),
        viscosity_pa_s=once("viscosity_pa_s"),
    )


_ABOVE_ZERO: Final = ("length_m", "bore_m", "outlet_coefficient")
_ZERO_OR_MORE: Final = ("roughness_m", "minor_k", "minor_k1", "coil_diameter_m")
_SHORT: Final = 256
"""Outlets of one open-set up to which a list is looked at without arrays."""
_SIZES: Final = ("elevation_m", *_ABOVE_ZERO, *_ZERO_OR_MORE)


def _check_sizes(of: Network | Joined) -> None:
    for field in _ABOVE_ZERO:
        values = getattr(of, field)
        _reject(field, values, values <= 0.0, "give a number above 0")
    for field in _ZERO_OR_MORE:
        values = getattr(of, field)
        _reject(field, values, values < 0.0, "give 0 or more")
    tight = (of.coil_diameter_m > 0.0) & (of.coil_diameter_m <= of.bore_m)
    _reject("coil_diameter_m", of.coil_diameter_m, tight, "must be larger than the bore, or 0 if straight")
    rough = of.roughness_m >= 0.5 * of.bore_m
    _reject("roughness_m", of.roughness_m, rough, "must be well below the bore")
    for field, least in (
        ("source_pressure_pa", -math.inf),
        ("source_linear_pa_s_m3", 0.0),
        ("source_quadratic_pa_s2_m6", 0.0),
    ):
        for value in _listed(getattr(of, field)):
            if not (math.isfinite(value) and value >= least):
                raise NetworkInputError(
                    field, f"{value!r} is not usable; give a finite number, not a rising curve"
                )
    for field in ("density_kg_m3", "viscosity_pa_s"):
        for value in _listed(getattr(of, field)):
            if not (math.isfinite(value) and value > 0.0):
                raise NetworkInputError(field, f"{value!r} is not usable; give a finite number above 0")


def _listed(value: float | FloatArray) -> list[float]:
    return value.tolist() if isinstance(value, np.ndarray) else [value]


@dataclass(frozen=True, eq=False, slots=True)
class TubeLaw:
    """Coefficients of the loss of each tube, (t,) arrays.

    ``dp = per_group G(re_per_flow |q|) + linear |q| + quadratic q**2``: friction group, then two-K fittings,
    whose K1 part is exactly linear in q.
    """

    re_per_flow: FloatArray
    per_group: FloatArray
    rough: FloatArray
    curvature: FloatArray
    linear: FloatArray
    quadratic: FloatArray


def tube_law(net: Network | Joined) -> TubeLaw:
    """Loss coefficients of every tube of a network, or of several joined.

    ``re_per_flow = 4 rho/(pi d mu)`` [s/m3], ``per_group = L mu**2/(2 rho d**3)`` [Pa],
    ``linear = K1 2 mu/(pi d**3)`` [Pa s/m3], ``quadratic = K 8 rho/(pi**2 d**4)`` [Pa s2/m6]; rho density
    [kg/m3], mu viscosity [Pa s], d bore [m], L length [m], K1 and K fitting coefficients [-]. Valid for what
    :meth:`Network.build` lets pass. Sources [1]_, [2]_.

    Worked example: K 2 in 6.35 mm at 1 L/min, water: V 0.5263 m/s, 2 * 998.2 * V**2/2 = 276.5 Pa.

    >>> net = Network.build(
    ...     elevation_m=[0.0, 0.0], tube_from=[0], tube_to=[1], length_m=[1.0], bore_m=[6.35e-3], minor_k=2.0,
    ...     outlet_node=[1], outlet_coefficient=[1e-8], source_pressure_pa=1e5,
    ...     density_kg_m3=998.2, viscosity_pa_s=1e-3)
    >>> round(float(tube_law(net).quadratic[0]) * (1.0 / 60000.0) ** 2, 1)
    276.5
    """
    d = net.bore_m
    rho: float | FloatArray = net.density_kg_m3
    mu: float | FloatArray = net.viscosity_pa_s
    if isinstance(net, Joined):
        tubes = np.diff(net.first_tube)
        rho, mu = np.repeat(rho, tubes), np.repeat(mu, tubes)
    d3 = d * d * d
    coil = net.coil_diameter_m
    curved = coil > 0.0
    return TubeLaw(
        re_per_flow=(4.0 * rho / (math.pi * mu)) / d,
        per_group=(mu * mu / (2.0 * rho)) * net.length_m / d3,
        rough=rough_scale(net.roughness_m / d),
        curvature=np.where(curved, d / np.where(curved, coil, 1.0), 0.0),
        linear=(2.0 * mu / math.pi) * net.minor_k1 / d3,
        quadratic=(8.0 * rho / math.pi**2) * net.minor_k / (d3 * d),
    )


def head_ends(net: Network | Joined) -> FloatArray:
    """``rho g (z - z_source)`` of every node [Pa]: what elevation takes from the pressure. Shape (n,).

    rho density [kg/m3], g 9.80665 m/s2, z elevation [m]. Valid at any elevation. Source [1]_.

    Worked example: water 10.2156 m up is 1 bar.

    >>> net = Network.build(
    ...     elevation_m=[0.0, 10.2156], tube_from=[0], tube_to=[1], length_m=[11.0], bore_m=[6.35e-3],
    ...     outlet_node=[1], outlet_coefficient=[1e-8], source_pressure_pa=1e5,
    ...     density_kg_m3=998.2, viscosity_pa_s=1e-3)
    >>> round(float(head_ends(net)[1]), -1)
    100000.0
    """
    if isinstance(net, Joined):
        nodes = np.diff(net.first_node)
        source = net.elevation_m[net.first_node[:-1] + net.source_node]
        joined: FloatArray = net.elevation_m - np.repeat(source, nodes)
        joined *= np.repeat(net.density_kg_m3 * GRAVITY_M_S2, nodes)
        return joined
    lift: FloatArray = net.elevation_m - net.elevation_m[net.source_node]
    lift *= net.density_kg_m3 * GRAVITY_M_S2
    return lift


def pressure_scale(net: Network) -> float:
    """The pressure that residuals are measured against [Pa]: source pressure or the largest lift, at least
    1."""
    return float(pressure_scales(join([net]))[0])


def pressure_scales(lines: Joined) -> FloatArray:
    """:func:`pressure_scale` of each line, (lines,)."""
    lifts = np.maximum.reduceat(np.abs(head_ends(lines)), lines.first_node[:-1])
    scale: FloatArray = np.maximum(np.maximum(1.0, np.abs(lines.source_pressure_pa)), lifts)
    return scale


def sum_by(group: IntArray, values: FloatArray, groups: int) -> FloatArray:
    """Sum of the values of each group 0 to groups - 1; shapes (k,), (k,) -> (groups,)."""
    return np.bincount(group, values, groups).view(np.float64)


def _floats(field: str, values: ArrayLike, size: int | None) -> FloatArray:
    try:
        array = np.array(values, dtype=np.float64)
    except (TypeError, ValueError) as error:
        raise NetworkInputError(field, "give numbers") from error
    array = _shaped(field, array, size)
    _reject(field, array, ~np.isfinite(array), "give finite numbers")
    return array


def _shaped(field: str, array: NDArray[np.float64], size: int | None) -> NDArray[np.float64]:
    if array.ndim == 0 and size is not None:
        return np.full(size, array)
    if array.ndim != 1 or (size is not None and array.size != size):
        want = "one row" if size is None else f"one row of {size}"
        raise NetworkInputError(field, f"has shape {array.shape}; give {want}")
    return array


def _indices(field: str, values: ArrayLike, size: int | None, nodes: int) -> IntArray:
    array = _floats(field, values, size)
    whole = array.astype(np.int64)
    _reject(
        field, array, (whole != array) | (whole < 0) | (whole >= nodes), f"is not a node 0 to {nodes - 1}"
    )
    return whole


def _flags(field: str, values: ArrayLike, size: int) -> BoolArray:
    array = np.asarray(values)
    if array.dtype != np.bool_:
        raise NetworkInputError(field, "give true or false")
    if array.ndim == 0:
        return np.full(size, bool(array))
    if array.shape != (size,):
        raise NetworkInputError(field, f"has shape {array.shape}; give one row of {size}")
    return array.copy()


def _reject(field: str, values: FloatArray, bad: BoolArray, message: str) -> None:
    if bad.any():
        at = int(np.argmax(bad))
        raise NetworkInputError(field, f"{float(values[at])!r} is not usable; {message}", at)


def read_open_sets(
    outlets: int, open_sets: ArrayLike | Sequence[Sequence[int]]
) -> tuple[IntArray, IntArray, int]:
    """As :func:`open_outlets`, with the number of sets as third value."""
    if isinstance(open_sets, np.ndarray):
        array = open_sets
    elif _plain_row(open_sets, outlets):
        # One short list that is right, as most are: looked at without arrays, whose calls cost more than the work.
        flat = np.array(open_sets[0], dtype=np.int64)
        return np.zeros(flat.size, dtype=np.int64), flat, 1
    else:
        rows = [np.asarray(row) for row in open_sets] if isinstance(open_sets, Sequence) else []
        widths = {row.size for row in rows}
        if len(widths) > 1 or widths <= {0}:
            for at, row in enumerate(rows):
                if row.size and not (row.ndim == 1 and np.issubdtype(row.dtype, np.integer)):
                    raise NetworkInputError("open_sets", "give whole outlet numbers", at)
            case = np.repeat(np.arange(len(rows), dtype=np.int64), [row.size for row in rows])
            flat = np.concatenate([np.empty(0, dtype=np.int64), *(r.astype(np.int64) for r in rows)])
            return _checked(case, flat, outlets), flat, len(rows)
        array = rows[0][None] if len(rows) == 1 else np.array(rows)
    if array.ndim != 2:
        raise NetworkInputError("open_sets", f"has shape {array.shape}; give one row for each open-set")
    if array.dtype == np.bool_:
        if array.shape[1] != outlets:
            raise NetworkInputError("open_sets", f"has {array.shape[1]} columns; there are {outlets} outlets")
        cases, which = array.nonzero()
        return cases.astype(np.int64), which.astype(np.int64), array.shape[0]
    if not np.issubdtype(array.dtype, np.integer):
        raise NetworkInputError("open_sets", "give true/false, or whole outlet numbers")
    flat = array.astype(np.int64).ravel()
    case = np.repeat(np.arange(array.shape[0], dtype=np.int64), array.shape[1])
    return _checked(case, flat, outlets), flat, array.shape[0]


def _plain_row(
    open_sets: ArrayLike | Sequence[Sequence[int]], outlets: int
) -> TypeGuard[Sequence[Sequence[int]]]:
    """Whether the open-sets are one list of whole numbers, each an outlet and none named twice."""
    if not isinstance(open_sets, list) or len(open_sets) != 1:
        return False
    row = open_sets[0]
    return (
        isinstance(row, list)
        and 0 < len(row) <= _SHORT
        and all(type(outlet) is int for outlet in row)
        and min(row) >= 0
        and max(row) < outlets
        and len(set(row)) == len(row)
    )


def _checked(case: IntArray, outlet: IntArray, outlets: int) -> IntArray:
    if outlet.size:
        bad = (outlet < 0) | (outlet >= outlets)
        if bad.any():
            at = int(np.argmax(bad))
            raise NetworkInputError("open_sets", f"there is no outlet {outlet[at]}", int(case[at]))
        key = np.sort(case * outlets + outlet)
        twice = key[1:] == key[:-1]
        if twice.any():
            row, which = divmod(int(key[int(np.argmax(twice))]), outlets)
            raise NetworkInputError("open_sets", f"names outlet {which} twice", row)
    return case
