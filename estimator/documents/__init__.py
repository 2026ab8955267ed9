"""Paper and data files from a Study; no window."""
