"""Inputs, fields, rows and pages."""
