"""Getting the program onto a machine with nothing but Python's standard library.

This file is readable by any Python 3, so that an old one is told what is missing.
"""

import sys

OLDEST = (3, 11)

if sys.version_info < OLDEST:
    sys.exit("Baydrop needs Python {}.{} or newer; this is {}.".format(*OLDEST, sys.version.split()[0]))
