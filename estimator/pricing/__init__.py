"""Ranges, terms, totals."""
