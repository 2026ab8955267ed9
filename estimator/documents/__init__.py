"""Paper and data files from a Study; no window."""

from estimator.documents.toolkit import seal_off as _seal_off

_seal_off()
