"""How far a share that was counted may be from the true one.

Sources
-------
.. [1] Wilson, E. B. (1927). J. Am. Stat. Assoc. 22, 209-212: interval of an observed share.
"""

from __future__ import annotations

import math
from typing import Final

from estimator.hydraulics.limits import above_zero, within

_NORMAL_95: Final = 1.959963984540054


def share_interval(count: int, total: int) -> tuple[float, float]:
    """Ends of the 95 % interval of a share seen ``count`` times in ``total`` tries [-].

    ``(p + z**2/2n -+ z sqrt(p(1-p)/n + z**2/4n**2)) / (1 + z**2/n)``, p = count/total, z 1.96. count 0 to total;
    total above 0. OutOfRange otherwise. Source [1]_.

    Worked example: 15 of 50.

    >>> [round(end, 4) for end in share_interval(15, 50)]
    [0.191, 0.4375]
    """
    above_zero("total", total, "-")
    within("count", count, 0, total, "-")
    z2 = _NORMAL_95**2
    p = count / total
    middle = p + z2 / (2.0 * total)
    spread = _NORMAL_95 * math.sqrt(p * (1.0 - p) / total + z2 / (4.0 * total * total))
    below = 1.0 + z2 / total
    # Exact at the ends, where rounding would leave a trace.
    low = (middle - spread) / below if count > 0 else 0.0
    return max(0.0, low), min(1.0, (middle + spread) / below if count < total else 1.0)
