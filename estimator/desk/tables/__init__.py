"""Tables to read: flat rows, groups of rows, rows to be ticked, or one column of sentences."""

from estimator.desk.tables.labels import plain_label
from estimator.desk.tables.lines import Column, Look, TableLine, distinct
from estimator.desk.tables.table import ReadTable

__all__ = ["Column", "Look", "ReadTable", "TableLine", "distinct", "plain_label"]
