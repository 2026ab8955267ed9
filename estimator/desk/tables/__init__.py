"""Tables to read: flat rows, groups of rows, rows to be ticked, or one column of sentences."""

from estimator.desk.tables.labels import plain_label
from estimator.desk.tables.lines import Column, Line, Look, distinct
from estimator.desk.tables.table import ReadTable

__all__ = ["Column", "Line", "Look", "ReadTable", "distinct", "plain_label"]
