"""Errors of the network solver; each knows its place."""

from __future__ import annotations


class NetworkError(ValueError):
    """Base of every error the network solver raises."""


class NetworkInputError(NetworkError):
    """A network or an open-set that cannot be used.

    ``field`` names the argument, ``index`` the row in it (None when the whole argument is meant).
    """

    def __init__(self, field: str, message: str, index: int | None = None) -> None:
        self.field = field
        self.index = index
        place = field if index is None else f"{field}[{index}]"
        super().__init__(f"{place}: {message}")


class ConvergenceError(NetworkError):
    """Continuity and energy could not be brought within tolerance.

    ``line`` is the network, ``case`` the open-set in it, ``node`` the node where the worst residual ends,
    ``residual_pa`` that residual [Pa].
    """

    def __init__(self, line: int, case: int, node: int, residual_pa: float) -> None:
        self.line = line
        self.case = case
        self.node = node
        self.residual_pa = residual_pa
        super().__init__(
            f"line {line}, open-set {case}: no balance found; energy is still out by "
            f"{residual_pa:.3g} Pa on the way to node {node}"
        )
